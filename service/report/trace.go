package report

import (
	"math"

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
	// Within is nil unless it was asked for.
	Within *WithinPeriod
}

// WithinPeriod describes the logged values of one average. What they do not tell is NaN.
type WithinPeriod struct {
	// GeometricMean and Percentile95 are in the unit of the reading.
	GeometricMean, GeometricStandardDeviation, Percentile95 float64
	// AboveLower and AboveUpper bound the fraction of the covered time over the channel's level.
	AboveLower, AboveUpper float64
	// Text is what it tells and what it does not.
	Text string
}

// TraceResult is a reading that may have no result: nothing was covered, or nothing is known of it.
type TraceResult struct {
	reading.Reading
	Known bool
}

// ResultOf makes a reading of bounds. None is known when they say nothing, or say that the concentration is 0, which has no
// logarithm.
func ResultOf(b trace.Bounds) TraceResult {
	var r reading.Reading
	switch {
	case math.IsInf(b.Upper, 1):
		r = reading.Over(b.Lower)
	case b.Exact():
		r = reading.At(b.Lower)
	case b.Lower == 0:
		r = reading.Under(b.Upper)
	default:
		r = reading.Within(b.Lower, b.Upper)
	}
	return TraceResult{Reading: r, Known: r.Check() == nil}
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
