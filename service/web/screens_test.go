package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// TestScreens writes pictures of every step to the folder named by SCREENS, for somebody to look at.
func TestScreens(t *testing.T) {
	t.Parallel()
	folder := os.Getenv("SCREENS")
	if folder == "" {
		t.Skip("SCREENS names no folder for pictures")
	}
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{390, 768, 1440} {
			d := sit(t, width, scheme)
			for _, step := range steps() {
				step.take(d)
				for _, part := range step.parts {
					picture, err := chromedp.Run(d.ctx, chromedp.Screenshot(chromedp.CSS(part), chromedp.NodeVisible))
					require.NoError(t, err)
					name := fmt.Sprintf("%s%s-%d-%s.png", step.name, strings.NewReplacer("#", "-", " ", "", ">", "").Replace(part), width, scheme)
					require.NoError(t, os.WriteFile(filepath.Join(folder, name), picture, 0o600))
				}
			}
		}
	}
}

// step is one state of the page that is worth a look, reached from the one before.
type step struct {
	name string
	take func(*desk)
	// parts are the selectors of what is new in it.
	parts []string
}

// steps lead through all that the page can show.
func steps() []step {
	return []step{
		{"1-start", func(*desk) {}, []string{"body"}},
		{"2-refused", func(d *desk) {
			d.drop("picture.png", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"))
			d.wait(`document.getElementById('file-message').textContent`)
		}, []string{"#file"}},
		{"3-understood", func(d *desk) {
			d.dropExample()
			d.click("#reread > summary")
		}, []string{"#understood", "#judge"}},
		{"4-outcomes", func(d *desk) {
			d.click("#reread > summary")
			d.judge()
			d.click(`#outcomes-table a[href="#group-0"]`)
			d.wait(`document.querySelector('#group-0 .plate img, #group-0 .plate p:not(.hint)')`)
		}, []string{"#outcomes-table", "#group-0"}},
		{"5-compare", func(d *desk) {
			d.choose("#compare-choose", "autumn.csv", laterCampaign(d))
			d.wait(`document.querySelector('#compare-fields select[name=from]')`)
			d.click("#compare-form button[type=submit]")
			d.wait(`document.querySelector('#compare-answer .plate img, #compare-answer .plate p:not(.hint)')`)
		}, []string{"#compare"}},
		{"6-plan", func(d *desk) {
			d.write("#plan-form select[name=about]", "3")
			d.click("#plan-form button[type=submit]")
			d.wait(`document.querySelector('#plan-answer .plate img, #plan-answer .plate p:not(.hint)')`)
		}, []string{"#plan"}},
		{"7-log", func(d *desk) {
			d.click("input[name=kind][value=log]")
			d.click("#example")
			d.wait(`!document.getElementById('channels').hidden`)
			d.click("#channels-form button[type=submit]")
			d.wait(`document.querySelector('#reduced .plate img, #reduced .plate p:not(.hint)')`)
		}, []string{"#channels"}},
	}
}

// laterCampaign is the example as it might be half a year later, at half the exposure in the joinery shop.
func laterCampaign(tb testing.TB) []byte {
	tb.Helper()
	lines := strings.Split(string(read(tb, "../../testdata/campaign.csv")), "\n")
	out := []string{"zone,agent,result,unit,limit,start"}
	for _, line := range lines {
		cells := strings.Split(line, ",")
		if cells[0] != "joinery shop" || cells[1] != "inhalable dust" {
			continue
		}
		v, err := strconv.ParseFloat(cells[2], 64)
		require.NoError(tb, err)
		out = append(out, strings.Join([]string{cells[0], cells[1], strconv.FormatFloat(v/2, 'g', -1, 64), cells[3], cells[4], strings.Replace(cells[6], "2026-0", "2027-0", 1)}, ","))
	}
	return []byte(strings.Join(out, "\n") + "\n")
}
