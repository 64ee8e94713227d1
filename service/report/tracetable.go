package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"time"

	"example.com/tailbound/service/reading"
)

// TraceTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func TraceTable(w io.Writer, a *Trace, width int) error {
	p := newPage(width)
	p.trace(a)
	return p.flush(w)
}

func (p *page) trace(a *Trace) {
	p.line("Readings from a trace")
	p.paragraph("", "", fmt.Sprintf("%s of %s, one every %s.", count(int(a.Report.Rows), "row"), count(a.Report.Sessions, "session"), Span(a.Report.Interval)))
	p.heading("Averages")
	p.line()
	p.averages(a)
	p.within(a)
	p.notes(a.Notes)
	p.heading("Sources")
	p.line()
	p.sources(a.Methods)
	p.caution(a.Caution)
}

// averages are shown one a line.
func (p *page) averages(a *Trace) {
	columns := []column{
		{head: "agent", shrinks: true},
		{head: "start"},
		{head: "average", right: true},
		{head: "unit"},
		{head: "covered", right: true},
		{head: "longest\ngap", right: true},
		{head: "largest\n15 min", right: true},
		{head: "peak", right: true},
		{head: "independent", right: true},
	}
	if len(a.Averages) > 0 && a.Averages[0].OverBase != nil {
		columns[2].head = "over the base"
	}
	rows := make([][]string, len(a.Averages))
	for i := range a.Averages {
		v := &a.Averages[i]
		result, shown := v.Result(), "not usable"
		if result.Known {
			shown = resultText(&result.Reading, shortNumber)
		}
		largest := "–"
		if v.Largest.Found {
			largest = shortNumber(v.Largest.Lower)
			if !v.Largest.Exact() {
				largest = ">" + largest
			}
		}
		peak := shortNumber(v.Peak)
		if v.Over > 0 {
			peak = ">" + peak
		}
		rows[i] = []string{
			plain(v.Agent), minute(v.Start), shown, string(v.Unit), covered(v.Coverage),
			Span(v.LongestGap), largest, peak, shortNumber(v.Effective),
		}
	}
	p.grid(withTasks(a, columns, rows))
	p.line()
	p.paragraph("", "", "Independent is how many independent values the logged ones are worth for their mean.")
}

// within is shown when it was asked for: how the level went up and down during each average.
func (p *page) within(a *Trace) {
	if len(a.Averages) == 0 || a.Averages[0].Within == nil {
		return
	}
	p.heading("Within each period, by the values logged")
	p.line()
	columns := []column{
		{head: "agent", shrinks: true},
		{head: "start"},
		{head: "values", right: true},
		{head: "GM", right: true},
		{head: "GSD", right: true},
		{head: "95 % of\ntime under", right: true},
		{head: "unit"},
		{head: "time over\nlevel", right: true},
	}
	rows := make([][]string, len(a.Averages))
	for i := range a.Averages {
		v := &a.Averages[i]
		w := v.Within
		if w == nil {
			w = new(WithinPeriod)
		}
		rows[i] = []string{
			plain(v.Agent), minute(v.Start), strconv.Itoa(v.Values), shortNumber(w.GeometricMean), shortNumber(w.GeometricStandardDeviation),
			shortNumber(w.Percentile95), string(v.Unit), shares(w.AboveLower, w.AboveUpper),
		}
	}
	p.grid(withTasks(a, columns, rows))
	p.line()
	p.paragraph("", "", "GM and GSD are the geometric mean and standard deviation of a lognormal with the values logged; – where they determine none.")
}

// withTasks puts the names of the tasks before the rest, when there are any.
func withTasks(a *Trace, columns []column, rows [][]string) ([]column, [][]string) {
	if !hasTasks(a) {
		return columns, rows
	}
	for i := range rows {
		rows[i] = slices.Insert(rows[i], 0, plain(a.Averages[i].Reading.ID))
	}
	return slices.Insert(columns, 0, column{head: "task", shrinks: true}), rows
}

func hasTasks(a *Trace) bool {
	return slices.ContainsFunc(a.Averages, func(v TraceAverage) bool { return v.Reading.ID != "" })
}

func shortNumber(v float64) string { return reading.Figures(v, figures) }

func minute(t time.Time) string { return t.Format("2006-01-02 15:04") }

// covered rounds down, so that what is short of all is never shown as all.
func covered(fraction float64) string { return strconv.Itoa(int(100*fraction)) + " %" }

// shares writes bounds of a fraction of time.
func shares(lower, upper float64) string {
	low, high := hundredths(lower), hundredths(upper)
	switch {
	case math.IsNaN(lower): // There is no level.
		return "–"
	case low == high:
		return low + " %"
	}
	return low + " to " + high + " %"
}

// Span writes a length of time as people do, such as "8 h 52 min".
func Span(d time.Duration) string {
	const day = 24 * time.Hour
	switch {
	case d == 0:
		return "0"
	case d%time.Minute != 0 && d < time.Hour:
		if whole := d.Truncate(time.Minute); whole > 0 {
			return Span(whole) + " " + Span(d-whole)
		}
		return shortNumber(d.Seconds()) + " s"
	case d < time.Hour:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d%time.Hour < time.Minute:
		return fmt.Sprintf("%d h", d/time.Hour)
	case d < 10*day:
		return fmt.Sprintf("%d h %d min", d/time.Hour, d%time.Hour/time.Minute)
	}
	return fmt.Sprintf("%d h", d.Round(time.Hour)/time.Hour)
}
