package web_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// axe is the source of the audit, a tool of the tests that is not part of the project; AXE_JS names its file.
func axe(tb testing.TB) string {
	tb.Helper()
	path := os.Getenv("AXE_JS")
	if path == "" {
		missing(tb, "axe-core, whose axe.min.js AXE_JS should name,")
	}
	return string(read(tb, path))
}

// finding is what an audit reports of one rule.
type finding struct {
	ID     string `json:"id"`
	Impact string `json:"impact"`
	Help   string `json:"help"`
	Nodes  []struct {
		HTML           string `json:"html"`
		FailureSummary string `json:"failureSummary"`
	} `json:"nodes"`
}

// audit runs every rule of axe on the page as it stands and returns what it finds against.
func (d *desk) audit(source string) []finding {
	d.Helper()
	if !eval[bool](d, `'axe' in window`) {
		eval[any](d, source+"\n;undefined")
	}
	var answer struct {
		Against []finding `json:"against"`
		For     int       `json:"for"`
	}
	require.NoError(d, json.Unmarshal([]byte(eval[string](d, `axe.run(document, {resultTypes: ['violations', 'passes']})
		.then((r) => JSON.stringify({against: r.violations, for: r.passes.length}))`)), &answer))
	require.Greater(d, answer.For, 25, "the audit did look at the page")
	return answer.Against
}

// TestEveryStep walks through all states of the page, in the light and the dark, and measures each of them at the widths that
// matter: a telephone held upright and the narrowest that WCAG asks for, a tablet, the seams of the layout, a desk.
func TestEveryStep(t *testing.T) {
	t.Parallel()
	source := axe(t)
	for _, scheme := range []string{"light", "dark"} {
		t.Run(scheme, func(t *testing.T) {
			t.Parallel()
			d := sit(t, 1440, scheme)
			for _, step := range steps() {
				step.take(d)
				for _, width := range []int64{320, 390, 700, 768, 1024, 1440} {
					d.do(chromedp.EmulateViewport(width, 900))
					d.checkReflow(step.name, width)
					if width == 390 || width == 1440 {
						d.checkAudit(step.name, source)
						d.checkTargets(step.name)
						d.checkStructure(step.name)
					}
				}
			}
		})
	}
}

// checkAudit allows no finding at all, serious or not.
func (d *desk) checkAudit(step, source string) {
	d.Helper()
	for _, f := range d.audit(source) {
		d.Errorf("%s: %s (%s): %s\n%v", step, f.ID, f.Impact, f.Help, f.Nodes)
	}
}

// checkReflow is WCAG 2.2, 1.4.10: nothing is cut off or scrolls sideways. Only a figure may be wider than its frame.
func (d *desk) checkReflow(step string, width int64) {
	d.Helper()
	require.Empty(d, eval[[]string](d, `[...document.querySelectorAll('body *')].filter((e) => e.checkVisibility() && !e.closest('.skip, .plate, table:not(.compact) thead') &&
		e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 200))`), "%s at %d", step, width)
	require.LessOrEqual(d, eval[int](d, `document.documentElement.scrollWidth`), int(width), step)
}

// checkTargets is WCAG 2.2, 2.5.8: what can be pressed is 24 px each way, links within a sentence apart.
func (d *desk) checkTargets(step string) {
	d.Helper()
	small := eval[[]string](d, `[...document.querySelectorAll('button, a, summary, select, input, label.button, label:has(input)')]
		.filter((e) => e.checkVisibility({opacityProperty: true}) && !e.closest('p:not(.pick):not(.name)') && !e.matches('.skip, [type=file], [type=radio], [type=checkbox]'))
		.filter((e) => { const b = e.getBoundingClientRect(); return b.width < 24 || b.height < 24; }).map((e) => e.outerHTML)`)
	require.Empty(d, small, step)
}

// checkStructure is what a screen reader steps by: one heading of the first level, none skipped, landmarks, and words for every
// figure.
func (d *desk) checkStructure(step string) {
	d.Helper()
	levels := eval[[]int](d, `[...document.querySelectorAll('h1, h2, h3, h4')].filter((e) => e.checkVisibility()).map((e) => Number(e.tagName[1]))`)
	require.Equal(d, 1, levels[0], step)
	for i := 1; i < len(levels); i++ {
		require.LessOrEqual(d, levels[i], levels[i-1]+1, step)
		require.Greater(d, levels[i], 1, step)
	}
	require.Empty(d, eval[[]string](d, `[...document.querySelectorAll('img')].filter((e) => e.closest('figure') && e.alt.length < 40).map((e) => e.alt)`), step)
	for _, landmark := range []string{"header", "nav[aria-label]", "main", "footer"} {
		require.Equal(d, 1, eval[int](d, fmt.Sprintf(`document.querySelectorAll('body > %s, header > %s').length`, landmark, landmark)), landmark)
	}
}

// press sends keys to whatever has the focus.
func (d *desk) press(keys string) {
	d.Helper()
	d.do(chromedp.KeyEvent(keys))
}

// tabTo presses Tab until what a selector finds has the focus, and checks that the focus can be seen there.
func (d *desk) tabTo(selector string) {
	d.Helper()
	const most = 120
	for range most {
		d.press(kb.Tab)
		if eval[bool](d, fmt.Sprintf(`document.activeElement.matches(%s)`, quoted(selector))) {
			outline := eval[string](d, `(() => { const e = document.activeElement; const seen = e.matches('[type=file]') ? e.nextElementSibling : e;
				const s = getComputedStyle(seen); return s.outlineStyle + ' ' + s.outlineWidth; })()`)
			require.Equal(d, "solid 3px", outline, "the focus on %s can be seen", selector)
			return
		}
	}
	require.FailNow(d, "not reached", "%s cannot be reached with the Tab key", selector)
}

// TestKeyboard goes from the top of the page to a report without a mouse.
func TestKeyboard(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.tabTo(".skip")
	d.press(kb.Enter)
	require.Equal(t, "main", eval[string](d, `document.activeElement.id`))
	d.tabTo("input[name=kind]")
	d.press(kb.ArrowDown)
	require.Equal(t, "log", eval[string](d, `document.activeElement.value`))
	d.press(kb.ArrowUp)
	d.tabTo("#choose")
	d.tabTo("#example")
	d.press(kb.Enter)
	d.wait(`document.activeElement.id === 'understood-title'`)
	d.tabTo("#reread > summary")
	d.tabTo("#judge-form input[name=limit]")
	d.tabTo("#judge-form button[type=submit]")
	d.press(kb.Enter)
	d.wait(`document.activeElement.id === 'outcomes-title'`)
	d.tabTo(`#outcomes-table a`)
	d.press(kb.Enter)
	require.Equal(t, "inside", eval[string](d, `document.activeElement.className`))
	d.wait(`document.querySelector('#group-0 .figures img')`)
	d.tabTo("#group-0 .switch button:nth-child(2)")
	d.press(" ")
	d.wait(`document.querySelector('#group-0 .switch button:nth-child(2)').getAttribute('aria-pressed') === 'true'`)
	eval[any](d, `document.getElementById('outcomes-title').focus()`)
	d.tabTo("#save-report")
	d.press(kb.Enter)
	require.Contains(t, string(d.downloaded("exposure-report.html")), "joinery shop")
	d.requireQuiet()
}

// TestReportIsAccessible opens the kept report as a file, in the light and the dark, on a telephone, the narrowest screen that WCAG
// asks for, and a desk: no finding of the audit, and nothing but the table of readings wider than its place.
func TestReportIsAccessible(t *testing.T) {
	t.Parallel()
	source := axe(t)
	for _, scheme := range []string{"light", "dark"} {
		t.Run(scheme, func(t *testing.T) {
			t.Parallel()
			d := sit(t, 1440, scheme)
			d.dropExample()
			d.judge()
			d.click("#save-report")
			d.downloaded("exposure-report.html")
			d.do(chromedp.Navigate("file://" + filepath.Join(d.downloads, "exposure-report.html")))
			d.wait(`document.querySelectorAll('section.group').length === 21`)
			for _, width := range []int64{320, 390, 768, 1440} {
				d.do(chromedp.EmulateViewport(width, 900))
				require.LessOrEqual(t, eval[int](d, `document.documentElement.scrollWidth`), int(width))
				require.Empty(t, eval[[]string](d, `[...document.querySelectorAll('body *')].filter((e) => e.checkVisibility() && !e.closest('.skip, .wide, .marks, .cards thead, figure svg') &&
					e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 200))`), "at %d", width)
			}
			d.do(chromedp.EmulateViewport(390, 900))
			require.GreaterOrEqual(t, eval[float64](d, `Math.min(...[...document.querySelectorAll('figure svg text')].map((e) => parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a))`), 10.0,
				"the letters of the figures on a telephone, in pixels")
			d.checkAudit("report", source)
			d.do(chromedp.EmulateViewport(1440, 900))
			d.checkAudit("report", source)
			d.requireQuiet()
		})
	}
}
