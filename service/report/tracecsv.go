package report

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

// Take says which number of an average becomes the result of a table of results.
type Take uint8

const (
	// TakeAverage takes the average, over the base when that was asked for: for limits of a shift or of a day.
	TakeAverage Take = iota
	// TakeLargest takes the largest rolling 15-minute mean: for short-term limits.
	TakeLargest
	// TakePeak takes the largest logged value, which stands for a logging interval: for ceiling limits.
	TakePeak
)

// Taken is the reading that a table of results has. It is not Known when it is not to be used, and so when the average is not: the
// largest of what was hardly covered says little. interval is the logging interval.
func (a *TraceAverage) Taken(take Take, interval time.Duration) TraceResult {
	if take == TakeAverage {
		return a.Result()
	}
	bounds, start, length := a.Largest.Bounds, a.LargestStart, trace.ShortTerm
	known := a.Usable && a.Largest.Found
	if take == TakePeak {
		bounds, start, length = a.peakBounds(), a.PeakAt, interval
		known = a.Usable && !math.IsNaN(a.Peak)
	}
	r := ResultOf(bounds)
	r.Known = r.Known && known
	r.Zone, r.Subject, r.Campaign, r.ID = a.Reading.Zone, a.Reading.Subject, a.Reading.Campaign, a.Reading.ID
	r.Start, r.Duration = start, length
	return r
}

// peakBounds is what is known of the true peak. Where no value reached the detection limit the average is only known to be below
// it, and so is the peak; a sensor over its range tells it from below.
func (a *TraceAverage) peakBounds() trace.Bounds {
	switch {
	case a.Over > 0:
		return trace.Bounds{Lower: a.Peak, Upper: math.Inf(1)}
	case a.Reading.Known && a.Reading.Kind == reading.Below:
		return trace.Bounds{Upper: a.Reading.Upper}
	}
	return trace.Exactly(a.Peak)
}

// ResultsCSV writes the usable readings as the table that assess reads, with a column for the names of tasks when there are any. The
// error is that of w.
func ResultsCSV(w io.Writer, a *Trace, take Take) error {
	out := bufio.NewWriter(w)
	head := []string{"zone", "agent", "result", "unit", "subject", "campaign", "start", "minutes"}
	tasks := hasTasks(a)
	if tasks {
		head = append(head, "id")
	}
	out.WriteString(csvRow(head)) //nolint:errcheck,gosec // Flush returns it.
	for i := range a.Averages {
		r := a.Averages[i].Taken(take, a.Report.Interval)
		if !r.Known {
			continue
		}
		row := []string{
			r.Zone, a.Averages[i].Agent, resultText(&r.Reading, plainNumber), string(a.Averages[i].Unit), r.Subject, r.Campaign,
			r.Start.Format(time.RFC3339Nano), plainNumber(r.Duration.Minutes()),
		}
		if tasks {
			row = append(row, r.ID)
		}
		out.WriteString(csvRow(row)) //nolint:errcheck,gosec // Flush returns it.
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	return nil
}

// csvRow writes a row that reads back as it was: a first cell that begins with # stands in quotes, for it would make its row a comment.
func csvRow(cells []string) string {
	quoted := make([]string, len(cells))
	for i, cell := range cells {
		if strings.ContainsAny(cell, ",\"\r\n") || strings.HasPrefix(cell, "#") || strings.TrimSpace(cell) != cell {
			cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
		}
		quoted[i] = cell
	}
	return strings.Join(quoted, ",") + "\n"
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
