package web_test

import (
	"encoding/csv"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// dropExample is the first step of most walks.
func (d *desk) dropExample() {
	d.Helper()
	d.drop("campaign.csv", read(d, "../../testdata/campaign.csv"))
	d.wait(`document.querySelector('#understood-sentence')?.textContent.includes('groups')`)
}

// judge presses the button and waits for the outcomes.
func (d *desk) judge() {
	d.Helper()
	d.click("#judge-form button[type=submit]")
	d.wait(`!document.getElementById('outcomes-shown').hidden && document.activeElement.id === 'outcomes-title'`)
}

// TestWalk goes the whole way of a person with a file: drop it, see what was understood, judge, look at a group, keep the report.
func TestWalk(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	require.Contains(t, d.text("#understood-sentence"), "21 groups")
	require.Equal(t, "understood-title", eval[string](d, `document.activeElement.id`), "the focus goes to what is new")
	d.judge()
	// The same counts as `tailbound assess testdata/campaign.csv`, which testdata/script/campaign.txtar keeps.
	require.Equal(t, "21 groups by the rule EN 689:2018: 6 not compliant, 5 undecided, 8 compliant, 2 not judged.", d.text("#outcomes-sentence"))
	require.Equal(t, 21, eval[int](d, `document.querySelectorAll('#outcomes-table tbody tr').length`))
	d.click(`#outcomes-table a[href="#group-0"]`)
	d.wait(`document.querySelector('#group-0 .figures img')?.naturalWidth > 0`)
	require.Contains(t, d.text("#group-0"), "The largest result, 8 mg/m3, is above the limit, 2.4 mg/m3.")
	require.Contains(t, eval[string](d, `document.querySelector('#group-0 img').alt`), "95th percentile 8.03 mg/m3, from 5.41 to 18.6, limit 2.4 mg/m3")
	d.click("#save-report")
	report := string(d.downloaded("exposure-report.html"))
	require.Contains(t, strings.ToLower(report[:200]), "<!doctype html>")
	require.Contains(t, report, "joinery shop")
	d.requireQuiet()
}

// TestKeptFiles checks the other two downloads against the answers on the page.
func TestKeptFiles(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	d.judge()
	d.click("#save-csv")
	rows, err := csv.NewReader(strings.NewReader(string(d.downloaded("outcomes.csv")))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 22)
	require.Equal(t, []string{"name", "agent", "decision_outcome", "decision_rule", "unit", "limit_value"}, rows[0][:6])
	require.Equal(t, []string{"joinery shop", "inhalable dust", "NOT_COMPLIANT", "EN689", "mg/m3", "2.4"}, rows[1][:6])
	d.click("#save-json")
	var kept struct {
		Groups  []map[string]any `json:"groups"`
		Answers []map[string]any `json:"answers"`
	}
	require.NoError(t, json.Unmarshal(d.downloaded("outcomes.json"), &kept))
	require.Len(t, kept.Groups, 21)
	require.Len(t, kept.Answers, 21)
	d.dropExample()
	d.wait(`document.getElementById('outcomes-shown').hidden`)
	d.requireQuiet()
}

// TestCopiedCallGivesTheSameAnswer runs the copied call in a shell. The name of the group has all that a shell would stumble over.
func TestCopiedCallGivesTheSameAnswer(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("curl"); err != nil {
		missing(t, "curl")
	}
	d := sit(t, 1440, "light")
	d.drop("awkward.csv", []byte("zone,agent,result,unit,limit\n"+
		strings.Repeat(`"it's $HOME ""quoted"" \n `+"`id`"+` END_OF_BODY",dust,0.2,mg/m3,5`+"\n", 2)+`"it's $HOME ""quoted"" \n `+"`id`"+` END_OF_BODY",dust,0.3,mg/m3,5`+"\n"))
	d.wait(`!document.getElementById('judge-form').hidden`)
	d.judge()
	eval[any](d, `navigator.clipboard.writeText = (text) => { window.copied = text; return Promise.resolve(); }`)
	d.click("#copy-curl")
	d.wait(`window.copied`)
	out, err := exec.Command("sh", "-c", eval[string](d, `window.copied`)).Output()
	require.NoError(t, err)
	require.Len(t, strings.Split(strings.TrimSpace(string(out)), "\n"), 2)
	require.Contains(t, string(out), `"name":"it's $HOME \"quoted\" \\n `+"`id`"+` END_OF_BODY"`)
	require.Contains(t, string(out), `"outcome":"OUTCOME_COMPLIANT"`)
	require.Contains(t, string(out), `{"end":{"answered":1}}`)
}

// foundry is an invented log of which the averages are known.
const foundry = "../../testdata/reference/autocorrelated_traces/foundry_co.csv"

// TestLogWalk goes from a logger's file to an outcome, and lets a second log join the first.
func TestLogWalk(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.click("input[name=kind][value=log]")
	d.choose("#choose", "monday.csv", read(t, foundry))
	d.wait(`!document.getElementById('channels').hidden`)
	require.Equal(t, "ppm", eval[string](d, `document.querySelector('#channels-form input[name=unit]').value`), "the name of the column suggests it")
	d.write("#channels-form input[name=unit]", "")
	d.click("#channels-form button[type=submit]")
	d.told("channels-message", "The unit of sensor 1 is not known.")
	for name, text := range map[string]string{"agent": "carbon monoxide", "unit": "ppm", "least": "1", "most": "500", "zone": "foundry", "warm-up": "8"} {
		d.write("#channels-form input[name="+name+"]", text)
	}
	d.click("#channels-form button[type=submit]")
	d.wait(`document.querySelector('#reduced table')`)
	// 12.8 ppm and 95 % of the time: /testdata/reference/autocorrelated_traces/expected.csv, foundry_co, with its warm-up of 8 minutes.
	require.Contains(t, d.text("#reduced table"), "12.8")
	require.Contains(t, d.text("#reduced table"), "61.1")
	d.click("#reduced .actions button")
	d.wait(`document.activeElement.id === 'judge-title'`)
	require.Contains(t, d.text("#channels-status"), "1 reading of 1 log wait for a limit below.")
	d.choose("#choose", "tuesday.csv", read(t, foundry))
	d.wait(`document.getElementById('file-status').textContent.includes('tuesday.csv has been read')`)
	d.write("#channels-form input[name=agent]", "carbon monoxide")
	d.write("#channels-form input[name=unit]", "ppm")
	d.click("#channels-form button[type=submit]")
	d.wait(`document.querySelector('#reduced table')`)
	d.click("#reduced .actions button")
	d.wait(`document.getElementById('channels-status').textContent.includes('2 readings of 2 logs')`)
	d.write("#judge-form input[name=limit]", "20")
	d.judge()
	require.Contains(t, d.text("#outcomes-table"), "foundry")
	require.Contains(t, d.text("#outcomes-table"), "Undecided")
	d.requireQuiet()
}

// TestExampleLog goes to outcomes from the log that comes with the page: five sensors, a shift a day, cut apart by their pauses.
func TestExampleLog(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.click("input[name=kind][value=log]")
	d.click("#example")
	d.wait(`!document.getElementById('channels').hidden`)
	require.Equal(t, []string{"carbon monoxide", "nitrogen dioxide", "solvent vapor", "respirable dust", "particles"},
		eval[[]string](d, `[...document.querySelectorAll('#channels-form input[name=agent]')].map((e) => e.value)`))
	d.click("#channels-list fieldset:last-child [type=checkbox]")
	require.Equal(t, []bool{true, true, true, true, false}, eval[[]bool](d, `[...document.querySelectorAll('#channels-form input[name=agent]')].map((e) => e.checkVisibility())`))
	d.write("#channels-form input[name=zone]", "parts store")
	d.write("#channels-form input[name=warm-up]", "10")
	d.click("#channels-form button[type=submit]")
	d.wait(`document.querySelector('#reduced table')`)
	d.wait(`document.querySelector('#reduced .plate img')?.naturalWidth > 0`)
	d.click("#reduced .actions button")
	d.wait(`document.activeElement.id === 'judge-title'`)
	require.Equal(t, 4, eval[int](d, `document.querySelectorAll('#judge-limits .limit').length`), "the sensor that was left out is out")
	d.write("#judge-limits .limit input[name=limit]", "25")
	d.judge()
	require.Equal(t, 4, eval[int](d, `document.querySelectorAll('#outcomes-table tbody tr').length`))
	require.Contains(t, d.text("#outcomes-table tbody tr"), "carbon monoxideCompliant")
	d.requireQuiet()
}

// TestCompareWalk adds a second file and compares.
func TestCompareWalk(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	d.click("#compare-form button[type=submit]")
	d.told("compare-message", "There is only one campaign.")
	d.choose("#compare-choose", "autumn.csv", laterCampaign(t))
	d.wait(`document.querySelector('#compare-fields select[name=from]')`)
	require.Equal(t, []string{"campaign.csv", "autumn.csv"}, eval[[]string](d, `['from', 'to'].map((n) => document.querySelector('#compare-fields select[name=' + n + ']').value)`))
	d.click("#compare-form button[type=submit]")
	d.wait(`document.querySelectorAll('#compare-answer table').length === 2`)
	// Every reading is half of an earlier one, so every ratio of a level is 0.5 and that of the spreads is 1.
	require.Equal(t, []string{"0.500", "0.500", "0.500", "1.00"}, eval[[]string](d,
		`[...document.querySelectorAll('#compare-answer table:nth-of-type(2) tbody tr')].map((r) => r.children[1].textContent)`))
	d.wait(`document.querySelector('#compare-answer .plate img')?.naturalWidth > 0`)
	d.requireQuiet()
}

// TestPlanWalk asks before the first visit, and after readings.
func TestPlanWalk(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.click("#plan-form button[type=submit]")
	d.told("plan-message", "The limit is needed here.")
	for name, text := range map[string]string{"limit": "0.5", "mean": "0.1", "spread": "2.2"} {
		d.write("#plan-form input[name="+name+"]", text)
	}
	d.click("#plan-form button[type=submit]")
	d.wait(`document.querySelector('#plan-answer table')`)
	require.Contains(t, d.text("#plan-answer .sentence"), "a chance of at least 80.0\u00a0%")
	d.dropExample()
	d.write("#plan-form select[name=about]", "3")
	d.click("#plan-form button[type=submit]")
	d.wait(`document.querySelector('#plan-answer h3')?.textContent === 'Further samples'`)
	require.Contains(t, d.text("#plan-answer table caption"), "further samples")
	d.wait(`document.querySelector('#plan-answer .plate img')?.naturalWidth > 0`)
	d.requireQuiet()
}

// TestFiguresThatThereAre: no group is offered a figure that there is not, nor goes without one that there is. Of the example,
// print room, linseed oil mist has no limit, so no posterior; bindery, linseed oil mist has no value, so no fit.
func TestFiguresThatThereAre(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	d.judge()
	for group, want := range map[string]string{
		"#group-0":  "ProbabilityExceedancePercentileOver time",
		"#group-9":  "ProbabilityExceedanceOver time",
		"#group-20": "ProbabilityOver time",
	} {
		d.click(`#outcomes-table a[href="` + group + `"]`)
		d.wait(`document.querySelector('` + group + ` .figures img')?.naturalWidth > 0`)
		require.Equal(t, want, d.text(group+" .switch"), group)
	}
	d.requireQuiet()
}

// TestMarkupStaysText names a zone so that it would act if it were ever taken for markup.
func TestMarkupStaysText(t *testing.T) {
	t.Parallel()
	const zone = `<img src=x onerror="window.acted=1"><b>shop`
	d := sit(t, 1440, "light")
	row := `"` + strings.ReplaceAll(zone, `"`, `""`) + `",dust,0.2,mg/m3,5` + "\n"
	d.drop("markup.csv", []byte("zone,agent,result,unit,limit\n"+row+row+row))
	d.wait(`!document.getElementById('judge-form').hidden`)
	d.judge()
	require.Contains(t, d.text("#outcomes-table tbody th"), zone)
	require.Contains(t, d.text("#group-0 summary"), zone)
	require.True(t, eval[bool](d, `window.acted === undefined`))
	d.requireQuiet()
}

// TestPolicyHolds tries what the policy is there to stop.
func TestPolicyHolds(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	for _, attempt := range []string{
		`document.body.innerHTML = '<b>x</b>'`,
		`document.body.appendChild(Object.assign(document.createElement('script'), {textContent: 'window.acted = 1'}))`,
		`window.setTimeout('window.acted = 1', 0)`,
	} {
		require.True(t, eval[bool](d, `(() => { try { `+attempt+`; } catch (e) { return e instanceof TypeError || e instanceof EvalError; } return false; })()`), attempt)
	}
	require.Equal(t, "refused", eval[string](d, `fetch('http://127.0.0.1:9/').then(() => 'sent', () => 'refused')`))
	require.True(t, eval[bool](d, `window.acted === undefined`))
}

// TestCampaignColumn compares within one file.
func TestCampaignColumn(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.drop("years.csv", []byte("zone,agent,result,unit,campaign\n"+
		"shop,dust,1,mg/m3,2025\nshop,dust,2,mg/m3,2025\nshop,dust,3,mg/m3,2025\nshop,dust,0.1,mg/m3,2026\nshop,dust,0.2,mg/m3,2026\nshop,dust,0.3,mg/m3,2026\n"))
	d.wait(`document.querySelector('#compare-fields select[name=from]')`)
	require.Equal(t, "2025 (3 readings)2026 (3 readings)", d.text("#compare-fields select[name=from]"))
	d.click("#compare-form button[type=submit]")
	d.wait(`document.querySelector('#compare-answer table')`)
	require.Contains(t, d.text("#compare-answer h3"), "2025 and 2026: shop, dust")
}
