package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

// Trace is the answer about a logger's trace.
type Trace struct {
	Channels []TraceChannel
	// Averages are in the order of session, period and channel.
	Averages []TraceAverage
	Report   trace.Report
	Notes    []Note
	Methods  []Method
	Caution  string
}

// TraceChannel is what one sensor measured.
type TraceChannel struct {
	Agent string
	Unit  reading.Unit
	// Drift is nil without a calibration.
	Drift *trace.Drift
}

// TraceAverage is one average and the reading that it makes.
type TraceAverage struct {
	trace.Average
	Agent   string
	Unit    reading.Unit
	Reading TraceResult
	// OverBase is nil unless it was asked for.
	OverBase *TraceResult
}

// TraceResult is a reading that may have no result: nothing was covered, or nothing is known of it.
type TraceResult struct {
	reading.Reading
	Known bool
}

// Result is the reading that a table of results has: over the base when it was asked for. It is not Known when it is not to
// be used.
func (a *TraceAverage) Result() TraceResult {
	r := a.Reading
	if a.OverBase != nil {
		r = *a.OverBase
	}
	r.Known = r.Known && a.Usable
	return r
}

// ResultsCSV writes the usable readings as the table that assess reads. The error is that of w.
func ResultsCSV(w io.Writer, a *Trace) error {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"zone", "agent", "result", "unit", "subject", "campaign", "start", "minutes"}); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	for i := range a.Averages {
		r := a.Averages[i].Result()
		if !r.Known {
			continue
		}
		if err := out.Write([]string{
			r.Zone, a.Averages[i].Agent, resultText(&r.Reading, plainNumber), string(a.Averages[i].Unit), r.Subject, r.Campaign,
			r.Start.Format(time.RFC3339Nano), plainNumber(r.Duration.Minutes()),
		}); err != nil {
			return fmt.Errorf("writing CSV: %w", err)
		}
	}
	out.Flush()
	return out.Error()
}

func plainNumber(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// resultText writes a result as the table of results does.
func resultText(r *reading.Reading, number func(float64) string) string {
	switch r.Kind {
	case reading.Below:
		return "<" + number(r.Upper)
	case reading.Above:
		return ">" + number(r.Lower)
	case reading.Between:
		return number(r.Lower) + ".." + number(r.Upper)
	default:
		return number(r.Lower)
	}
}

// TraceTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func TraceTable(w io.Writer, a *Trace, width int) error {
	p := newPage(width)
	p.trace(a)
	return p.flush(w)
}

func (p *page) trace(a *Trace) {
	p.line("Readings from a trace")
	p.paragraph("", "", fmt.Sprintf("%s of %s, one every %v.", count(int(a.Report.Rows), "row"), count(a.Report.Sessions, "session"), a.Report.Interval))
	p.heading("Averages")
	p.line()
	p.averages(a)
	p.notes(a.Notes)
	p.heading("Sources")
	p.line()
	p.sources(a.Methods)
	p.caution(a.Caution)
}

func (p *page) averages(a *Trace) {
	columns := []column{
		{head: "agent", shrinks: true},
		{head: "start"},
		{head: "average", right: true},
		{head: "unit"},
		{head: "covered", right: true},
		{head: "longest gap", right: true},
		{head: "largest 15 min", right: true},
		{head: "peak", right: true},
		{head: "independent", right: true},
	}
	based := len(a.Averages) > 0 && a.Averages[0].OverBase != nil
	if based {
		columns[2].head = "over the base"
	}
	figured := func(v float64) string { return reading.Figures(v, figures) }
	rows := make([][]string, len(a.Averages))
	for i := range a.Averages {
		v := &a.Averages[i]
		result, shown := v.Result(), "not usable"
		if result.Known {
			shown = resultText(&result.Reading, figured)
		}
		largest := "–"
		if v.Largest.Found {
			largest = figured(v.Largest.Lower)
			if !v.Largest.Exact() {
				largest = ">" + largest
			}
		}
		rows[i] = []string{
			v.Agent, v.Start.Format("2006-01-02 15:04"), shown, string(v.Unit), strconv.Itoa(int(100*v.Coverage)) + " %",
			v.LongestGap.String(), largest, figured(v.Peak), figured(v.Effective),
		}
	}
	p.grid(columns, rows)
}
