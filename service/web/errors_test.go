package web_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// told waits for a message and checks that the reader is taken to it.
func (d *desk) told(region string, parts ...string) {
	d.Helper()
	d.wait(`document.getElementById(` + quoted(region) + `).textContent`)
	require.Equal(d, region, eval[string](d, `document.activeElement.id`), "the focus is on the message")
	require.Equal(d, "alert", eval[string](d, `document.activeElement.getAttribute('role')`))
	for _, part := range parts {
		require.Contains(d, d.text("#"+region), part)
	}
}

// refused is how the browser logs a call that was answered with a refusal.
const refused = "the server responded with a status of 400"

func TestEmptyFileIsToldKindly(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.choose("#choose", "nothing.csv", nil)
	d.told("file-message", "“nothing.csv” is empty", "Choose the file that holds the rows.")
	require.True(t, eval[bool](d, `document.getElementById('understood').hidden`))
	d.dropExample()
	require.Empty(t, d.text("#file-message"), "a message goes when its reason has gone")
	d.requireQuiet()
}

func TestWrongFileIsToldKindly(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.choose("#choose", "photo.png", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x10"))
	d.told("file-message", "“photo.png” is not a table of text. It looks like a picture.")
	d.choose("#choose", "letter.txt", []byte("Dear all,\nplease find the results attached.\n"))
	d.wait(`document.getElementById('file-message').textContent.includes('letter.txt')`)
	d.told("file-message", "“letter.txt” could not be read.")
	require.NotContains(t, d.text("#file-message"), "content:")
	d.dropExample()
	d.requireQuiet(refused)
}

// TestEveryReasonIsASentence refuses a file for two reasons: units that do not convert, and two limits of one group.
func TestEveryReasonIsASentence(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.choose("#choose", "mixed.csv", []byte("zone,agent,result,unit,limit\nkiln,ozone,0.02,ppm,0.1ppm\nkiln,ozone,0.05,mg/m3,0.1ppm\nyard,dust,1,mg/m3,4\nyard,dust,2,mg/m3,5\n"))
	d.told("file-message", "Line 3, column unit: ", "Line 5, column limit: 5 mg/m3 is not the limit of line 4, 4 mg/m3")
	require.NotContains(t, d.text("#file-message"), "content:")
	d.requireQuiet(refused)
}

// TestForeignColumnsAreMappedByHand reads a table whose header the server does not know.
func TestForeignColumnsAreMappedByHand(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.choose("#choose", "werte.csv", []byte("Ort;Stoff;Wert;Bemerkung\nHalle;Staub;0,12;x\nHalle;Staub;<0,05;y\nHalle;Staub;0,31;z\n"))
	d.told("file-message", "Say which column is which")
	d.click("#file-message button")
	d.wait(`document.activeElement.id === 'understood-title'`)
	for role, name := range map[string]string{"zone": "Ort", "agent": "Stoff", "result": "Wert"} {
		d.write(`#reread-form select[name="column-`+role+`"]`, name)
	}
	d.write(`#reread-form input[name=unit]`, "mg/m3")
	d.click("#reread-form button[type=submit]")
	d.wait(`document.getElementById('understood-sentence').textContent.includes('3 rows, none refused, 1 group')`)
	require.Contains(t, d.text("#understood-facts"), "Wert as result")
	require.Contains(t, d.text("#understood-facts"), "Columns not usedBemerkung")
	d.requireQuiet(refused)
}

func TestLogGivenAsResultsCanBeReadAsALog(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.choose("#choose", "logger.csv", read(t, foundry))
	d.told("file-message", "Read it as a logger’s values")
	d.click("#file-message button:last-child")
	d.wait(`!document.getElementById('channels').hidden`)
	require.Contains(t, d.text("#understood-sentence"), "523 rows")
	require.True(t, eval[bool](d, `document.querySelector('input[name=kind][value=log]').checked`))
	d.requireQuiet(refused)
}

// TestNoLimitIsToldKindly judges a file without limits: once the page asks, the second time it describes.
func TestNoLimitIsToldKindly(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.drop("bare.csv", []byte("zone,agent,result,unit\nshop,dust,0.2,mg/m3\nshop,dust,0.3,mg/m3\nshop,dust,0.5,mg/m3\n"))
	d.wait(`!document.getElementById('judge-form').hidden`)
	d.click("#judge-form button[type=submit]")
	d.told("judge-message", "There is no limit yet", "Go to the field")
	require.Equal(t, 1, eval[int](d, `document.querySelectorAll('#judge-form [aria-invalid]').length`))
	d.click("#judge-message a")
	require.Equal(t, "limit", eval[string](d, `document.activeElement.name`))
	d.judge()
	require.Equal(t, "1 group by the rule EN 689:2018: 1 not judged.", d.text("#outcomes-sentence"))
	d.write(`#judge-form input[name=limit]`, "2,5")
	d.judge()
	require.Contains(t, d.text("#outcomes-table"), "2.5", "a decimal comma is understood")
	d.requireQuiet()
}

func TestNumbersThatCannotBeUsedAreToldKindly(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	for written, want := range map[string]string{"1,000": "Write 1000 or 1.000.", "five": "Write a number greater than 0.", "-1": "Write a number greater than 0."} {
		d.write(`#judge-form input[name=limit]`, written)
		d.click("#judge-form button[type=submit]")
		d.wait(`document.getElementById('judge-message').textContent.includes(` + quoted(want) + `)`)
		require.Equal(t, "judge-message", eval[string](d, `document.activeElement.id`))
	}
	d.click("#plan-form button[type=submit]")
	d.requireQuiet()
}

func TestServerGoneIsToldKindly(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	d.stop()
	d.click("#judge-form button[type=submit]")
	d.told("judge-message", "The server does not answer.", "nothing on this page is lost")
	d.drop("campaign.csv", read(t, "../../testdata/campaign.csv"))
	d.told("file-message", "The server does not answer.")
	require.Equal(t, 21, eval[int](d, `document.querySelectorAll('#plan-form select[name=about] option').length`)-1, "what was read is still there")
	d.requireQuiet("net::ERR_CONNECTION_REFUSED", "net::ERR_CONNECTION_RESET", "net::ERR_EMPTY_RESPONSE")
}

// TestCutAnswerIsNotShown takes the end line off the answer on its way.
func TestCutAnswerIsNotShown(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.dropExample()
	eval[any](d, `{const real = window.fetch; window.fetch = async (path, init) => {
		const answer = await real(path, init);
		if (!String(path).endsWith(':assessAll')) return answer;
		return new Response((await answer.text()).split('\n').slice(0, 7).join('\n'), {status: 200});
	};}`)
	d.click("#judge-form button[type=submit]")
	d.told("judge-message", "The answer was cut")
	require.True(t, eval[bool](d, `document.getElementById('outcomes-shown').hidden`))
	d.requireQuiet()
}

// TestOrderOfDatesIsAsked reads a log of the examples whose dates do not show whether the day or the month comes first.
func TestOrderOfDatesIsAsked(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.click("input[name=kind][value=log]")
	d.choose("#choose", "wash-hall.csv", read(t, "../../testdata/logs/instrument2-wash-hall.csv"))
	d.told("file-message", "It has dates such as", "The day comes first", "The month comes first", "Say how it is written")
	d.click("#file-message .actions button:first-child")
	d.wait(`!document.getElementById('channels').hidden`)
	require.Contains(t, d.text("#understood-facts"), "day-month-year")
	require.Contains(t, d.text("#understood-refused"), "is cut off", "the last line of that log is")
	require.Empty(t, d.text("#file-message"))
	d.requireQuiet(refused)
}

// TestDependentReadingsAreRefusedUntilTaken judges a slow wave of quarters of an hour of one shift.
func TestDependentReadingsAreRefusedUntilTaken(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	rows := "zone,agent,result,unit,limit,subject,start,minutes\n"
	for i := range 24 {
		rows += fmt.Sprintf("mill,dust,%.3f,mg/m3,5,P1,2026-03-09T%02d:%02d,15\n", math.Exp(math.Sin(float64(i)/4)), 8+i/4, i%4*15)
	}
	d.drop("minutes.csv", []byte(rows))
	d.wait(`!document.getElementById('judge-form').hidden`)
	d.judge()
	require.Equal(t, "1 group by the rule EN 689:2018: 1 refused.", d.text("#outcomes-sentence"))
	require.Contains(t, d.text("#group-0"), "The readings follow one another within a shift and depend on each other")
	require.NotContains(t, d.text("#group-0"), "--accept-dependent", "nobody here has a terminal")
	require.Contains(t, d.text("#outcomes-table"), "5mg/m3", "the limit that was stated is shown")
	d.write("#judge-form select[name=dependent]", "yes")
	d.judge()
	require.NotContains(t, d.text("#outcomes-sentence"), "refused")
	require.Contains(t, d.text("#group-0"), "every limit is too narrow")
	d.requireQuiet()
}

// TestSamplesOfOneShiftAreTakenTogether reads two half shifts as one: 2 h at 150, 2 h at 75 and 4 h at 50 are 81.25 (29 CFR
// 1910.1000(d)(1)).
func TestSamplesOfOneShiftAreTakenTogether(t *testing.T) {
	t.Parallel()
	d := sit(t, 390, "light")
	d.drop("halves.csv", []byte("zone,agent,result,unit,limit,subject,start,minutes\n"+
		"bay,solvent,150,ppm,100,P1,2026-03-09T06:00,120\nbay,solvent,75,ppm,100,P1,2026-03-09T08:00,120\n"+
		"bay,solvent,50,ppm,100,P1,2026-03-09T10:00,240\nbay,solvent,60,ppm,100,P2,2026-03-09T06:00,480\n"))
	d.wait(`!document.getElementById('judge-form').hidden`)
	d.click("#reread > summary")
	d.write("#reread-form select[name=combine]", "36000s")
	d.click("#reread-form button[type=submit]")
	d.wait(`document.activeElement.id === 'understood-title'`)
	d.judge()
	require.Contains(t, d.text("#group-0"), "2 readings, 2 with a value, from 60 to 81.25 ppm")
	require.Contains(t, d.text("#group-0"), "4 samples were taken together as 2 averages of shifts")
	d.requireQuiet()
}

// TestRowsLeftOutAreTold counts the refused rows wherever the outcomes are: in the sentence, at the group, in the report and the table.
func TestRowsLeftOutAreTold(t *testing.T) {
	t.Parallel()
	d := sit(t, 1440, "light")
	d.drop("torn.csv", []byte("zone,agent,result,unit,limit\nyard,dust,1,mg/m3,4\nyard,dust,1.2,mg/m3,4\nyard,dust,abc,mg/m3,4\nyard,dust,1.1,mg/m3,4\nyard,dust,-3,mg/m3,4\n"))
	d.wait(`!document.getElementById('judge-form').hidden`)
	require.Contains(t, d.text("#understood-sentence"), "5 rows, 2 of them refused")
	d.judge()
	require.Contains(t, d.text("#outcomes-sentence"), "2 rows of torn.csv were refused and count in none of them.")
	const told = "2 of 5 rows were rejected and left out."
	require.Contains(t, d.text("#group-0"), told)
	d.click("#save-report")
	require.Contains(t, string(d.downloaded("exposure-report.html")), told)
	d.click("#save-csv")
	require.Contains(t, string(d.downloaded("outcomes.csv")), "remark")
	d.requireQuiet()
}
