package decision

import (
	"cmp"
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Evidence is what the rules judge.
type Evidence struct {
	Readings []reading.Reading
	Counts   reading.Counts
	Fit      *fit.Fit
	// Limit is in the unit of the readings.
	Limit float64
	// Unit is only for the words of the reason.
	Unit reading.Unit
	// LimitNote is a sentence on how the limit came about, which ends every argument; empty for a limit as stated.
	LimitNote string
	// RelativeError is the standard deviation of the measurement error as a fraction of the true value, 0 when not stated.
	RelativeError float64
	// Mean is the arithmetic mean with its limits at MeanConfidence where they are known already; a rule that needs them computes them
	// otherwise.
	Mean *limit.Bounds

	// scratch is where arguments are written, one after another.
	scratch []byte
}

// over returns the largest reading that is surely above the limit.
func (e *Evidence) over() (largest reading.Reading, found bool) {
	for _, r := range e.Readings {
		if r.Lower < e.Limit || r.Lower == e.Limit && r.Kind != reading.Above {
			continue
		}
		if !found || cmp.Or(cmp.Compare(r.Lower, largest.Lower), cmp.Compare(r.Kind, largest.Kind)) > 0 {
			largest, found = r, true
		}
	}
	return largest, found
}

// largest returns the reading that may be the largest: the one with the highest upper end. Of equal ends that of a reading with
// a value counts, so that the order of the readings does not.
func (e *Evidence) largest() reading.Reading {
	var top reading.Reading
	for _, r := range e.Readings {
		if cmp.Or(cmp.Compare(r.Upper, top.Upper), cmp.Compare(r.Lower, top.Lower)) > 0 {
			top = r
		}
	}
	return top
}

// rounding is what two numbers that are equal in decimal may differ by in binary: 0.2 × 0.05 is not quite 0.01.
const rounding = 1e-12

// under says whether a reading is surely below a bound. One reported as below its reporting limit is also where the two are
// equal.
func under(r reading.Reading, bound float64) bool {
	if r.Kind == reading.Below {
		return r.Upper <= bound*(1+rounding)
	}
	return r.Upper < bound*(1-rounding)
}

// percentileLimit is the log of the limit of the percentile at level p, 0 to 1: p above 0.5 gives an upper limit.
func (e *Evidence) percentileLimit(fraction, p float64) (float64, error) {
	return e.Fit.Limits.Quantile(numeric.NormalQuantile(fraction), p)
}

// shape starts an argument with the readings and their fitted lognormal.
func (e *Evidence) shape() *prose {
	f := e.Fit
	p := e.prose().count(f.N).say(" results")
	if !f.Exact {
		if e.Counts.Censored() > 0 {
			p.say(" (").count(e.Counts.Censored()).say(" without a value)")
		}
		return p.say(": fitted mean of ln result ").number(f.Mu).say(", standard deviation ").number(f.Sigma)
	}
	return p.say(": mean of ln result ").number(f.Mu).say(", standard deviation ").number(f.Sigma)
}

// factor is the k of a limit mean + k × standard deviation.
func (e *Evidence) factor(logLimit float64) float64 { return (logLimit - e.Fit.Mu) / e.Fit.Sigma }

// logLimit is the natural log of the limit.
func (e *Evidence) logLimit() float64 { return math.Log(e.Limit) }
