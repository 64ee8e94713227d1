package assess

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// traceNotes says what the reader of a trace's readings must know.
func traceNotes(a *report.Trace, o *TraceOptions) []report.Note {
	var out []report.Note
	tell := func(severity report.Severity, code, format string, args ...any) {
		out = append(out, report.Note{Code: code, Severity: severity, Text: fmt.Sprintf(format, args...)})
	}
	if dependent(a) {
		tell(report.Warning, "dependent-averages", "Averages of one session follow one another: they say how the exposure ran within it and are not "+
			"independent samples. Exposures are assessed across shifts, so assess refuses them where they depend on each other.")
	}
	if o.WithinPeriod {
		tell(report.Information, "within-period", "%s", serialCaution)
	}
	sameAgentNotes(a, tell)
	channelNotes(a, o, tell)
	serialNotes(a, o, tell)
	rowNotes(a, o, tell)
	averageNotes(a, o, tell)
	return out
}

// teller adds a note.
type teller func(severity report.Severity, code, format string, args ...any)

// dependent says whether a channel has more than one average in a session.
func dependent(a *report.Trace) bool {
	seen := map[[2]int]bool{}
	for i := range a.Averages {
		key := [2]int{a.Averages[i].Session, a.Averages[i].Channel}
		if seen[key] {
			return true
		}
		seen[key] = true
	}
	return false
}

// sameAgentNotes says which agents several channels measured.
func sameAgentNotes(a *report.Trace, tell teller) {
	count := map[string]int{}
	for _, c := range a.Channels {
		agent := strings.ToLower(c.Agent)
		if count[agent]++; count[agent] == 2 {
			tell(report.Careful, "same-agent", "%s was measured by more than one channel: such readings are of the same air at the same time, and not "+
				"independent samples of it. Use one of them.", c.Agent)
		}
	}
}

func channelNotes(a *report.Trace, o *TraceOptions, tell teller) {
	for i, c := range a.Channels {
		if o.Measured[i].Line && reactive(c.Agent) {
			tell(report.Careful, "reactive-gas", "%s is lost on the walls of a sampling line: its readings may be biased low (common practice).", c.Agent)
		}
		sizeNotes(&o.Measured[i], tell)
		if level := o.Measured[i].Level; level != nil {
			tell(report.Information, "level", "%s: the level is %s %s; the time over it is counted by the values logged.", c.Agent, reading.Stated(*level), c.Unit)
		}
		if c.Drift == nil {
			continue
		}
		corrected := "not corrected"
		if o.Channels[i].Calibration.Correct {
			corrected = "corrected"
		}
		severity, verdict := report.Information, "within"
		if !c.Drift.Passed {
			severity, verdict = report.Careful, "more than"
		}
		tell(severity, "drift", "%s: the checks were off by up to %.3g %% of the span gas, %s the tolerance of %.3g %%; the values are %s. "+
			"Zero was off by %+.3g %% before and %+.3g %% after, span by %+.3g %% and %+.3g %%.",
			c.Agent, 100*c.Drift.Worst, verdict, 100*o.Channels[i].Calibration.Tolerance, corrected,
			100*c.Drift.ZeroBefore, 100*c.Drift.ZeroAfter, 100*c.Drift.SpanBefore, 100*c.Drift.SpanAfter)
	}
}

// serialNotes says which channels hold averages whose values are worth even fewer than is told.
func serialNotes(a *report.Trace, o *TraceOptions, tell teller) {
	lasting := make([]int64, len(o.Measured))
	for i := range a.Averages {
		if a.Averages[i].Lasting {
			lasting[a.Averages[i].Channel]++
		}
	}
	for i, n := range lasting {
		if n > 0 {
			tell(report.Information, "lasting-correlation", "%s: in %s the values still correlate as far back as was looked, at most 30 values; "+
				"they are worth even fewer independent ones than is told.", a.Channels[i].Agent, counted(n, "average"))
		}
	}
}

func rowNotes(a *report.Trace, o *TraceOptions, tell teller) {
	r := &a.Report
	if o.Interval == 0 {
		tell(report.Information, "interval-found", "The logging interval was taken as %s, the median of the first intervals.", report.Span(r.Interval))
	}
	if r.Backwards > 0 {
		tell(report.Careful, "backwards-rows", "%s with a time before that of an earlier row, first row %d, counted from 0: skipped.",
			counted(r.Backwards, "row"), r.FirstBackwards)
	}
	if len(r.Missed) > 0 {
		tell(report.Careful, "tasks-not-met", "Nothing was logged during %s: no readings.", named(r.Missed))
	}
	for _, jump := range o.ClockJumps {
		if jump.Row < r.Rows {
			tell(report.Information, "clock-corrected", "From row %d, counted from 0, on the times are taken to be %v ahead.", jump.Row, jump.Ahead)
		} else {
			tell(report.Careful, "clock-jump-not-met", "The clock is said to be set at row %d, counted from 0, which the trace does not have.", jump.Row)
		}
	}
	for i, c := range r.Channels {
		if c.Blank > 0 || c.Duplicates > 0 {
			tell(report.Information, "blank-and-duplicate-rows", "%s: %s without a value, %s with a second value for a time, averaged.",
				a.Channels[i].Agent, counted(c.Blank, "row"), counted(c.Duplicates, "row"))
		}
	}
}

func averageNotes(a *report.Trace, o *TraceOptions, tell teller) {
	var uncovered, empty, over, negative int64
	for i := range a.Averages {
		v := &a.Averages[i]
		switch {
		case v.Observed > 0 && v.Coverage >= o.Coverage && !v.Reading.Known:
			empty++
		case !v.Usable:
			uncovered++
		}
		over += int64(v.Over)
		negative += int64(v.Negative)
	}
	if uncovered > 0 {
		tell(report.Careful, "low-coverage", "%s covered to less than %.3g %%: not usable.", counted(uncovered, "average"), 100*o.Coverage)
	}
	if empty > 0 {
		tell(report.Careful, "nothing-but-zero", "%s of nothing but 0: state the detection limit of the channel, so that it becomes a reading below it.",
			counted(empty, "average"))
	}
	if over > 0 {
		tell(report.Careful, "over-range", "%s at or over the full scale: the averages that hold one are only known from below.", counted(over, "value"))
	}
	if negative > 0 {
		tell(report.Careful, "negative-values", "%s under 0 by more than the detection limit, which is 0 where none is stated: taken as 0, or as under that limit. "+
			"Where an instrument marks no reading so, as by -999, empty such cells.", counted(negative, "value"))
	}
	if b := o.Base; b != nil {
		tell(report.Careful, "base", "Averages over %v. Gaps: %s; time outside the trace: %s.", hours(b.Length), assumed(b.Gaps), assumed(b.Outside))
	}
}

// named lists the names of tasks, the first few of many.
func named(tasks []string) string {
	const few = 10
	quoted := make([]string, min(len(tasks), few))
	for i := range quoted {
		quoted[i] = strconv.Quote(tasks[i])
	}
	out := "the task " + quoted[0]
	if len(tasks) > 1 {
		out = "the tasks " + strings.Join(quoted, ", ")
	}
	if more := len(tasks) - few; more > 0 {
		out += fmt.Sprintf(" and %d more", more)
	}
	return out
}

func counted(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func hours(d time.Duration) string { return fmt.Sprintf("%.4g h", d.Hours()) }
