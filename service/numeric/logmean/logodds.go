package logmean

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// logOdds is ln(P/(1-P)) of a probability that rises along some w, with its first two derivatives.
type logOdds struct{ value, slope, curve float64 }

// solveLogit returns the w at which the log-odds are those of p, starting at start. It takes Halley steps inside a bracket
// that only shrinks, and the last one starts within 2e-3 of the target and is shorter than 5e-4: a Halley step leaves an
// error of the order of its cube. Not getting there is numeric.ErrNoConvergence.
func solveLogit(start, p float64, at func(w float64) logOdds) (float64, error) {
	const steps, near, short, largest = 100, 2e-3, 5e-4, 2.0
	target := math.Log(p) - math.Log1p(-p)
	lo, hi, w := math.Inf(-1), math.Inf(1), start
	for range steps {
		o := at(w)
		miss := o.value - target
		// The comparison is false for NaN too.
		if !(o.slope > 0) || math.IsInf(miss, 0) {
			break
		}
		if miss > 0 {
			hi = w
		} else {
			lo = w
		}
		// The denominator is kept near the slope, so that a poor curvature far from the root cannot turn the step round.
		newton := miss / o.slope
		next := w - newton/max(0.5, min(2, 1-0.5*newton*o.curve/o.slope))
		if math.Abs(miss) < near && math.Abs(next-w) < short {
			return next, nil
		}
		next = max(w-largest, min(w+largest, next))
		if next <= lo || next >= hi {
			next = 0.5 * (lo + hi)
		}
		w = next
	}
	return 0, numeric.ErrNoConvergence
}
