package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// Bounds is an estimate with its one-sided confidence limits. NaN stands for what the readings do not determine.
type Bounds struct {
	Estimate, Lower, Upper float64
}

// medianShare bounds how much a point mass at sigma_b = 0 may count: no limit lies on the far side of the median of what is
// possible when sigma_b is not 0. Without it the upper limit of sigma_b would be 0 whenever the p-value of the F test exceeds
// the confidence, a claim that no readings can bear out. It only widens limits.
const medianShare = 0.5

// withinLimits are the limits of sigma_w: squares/sigma_w² has a chi-square distribution.
func (l *layout) withinLimits(confidence float64) (lower, upper float64) {
	limit := func(p float64) float64 { return math.Sqrt(l.squares / numeric.ChiSquareQuantile(l.within, p)) }
	return limit(confidence), limit(1 - confidence)
}

// betweenLimits are the limits of sigma_b. The lower one is above 0 exactly when the F test rejects at 1 - confidence.
func (p *pivotal) betweenLimits(confidence float64) (lower, upper float64, err error) {
	q := betweenQuantile{layout: p.layout, rule: numeric.NewChiRule(p.layout.within), half: 0.5 * p.layout.between}
	q.constant, _ = math.Lgamma(q.half)
	if p.zero < 1-confidence {
		if lower, err = q.solve(confidence); err != nil {
			return 0, 0, err
		}
	}
	upper, err = q.solve(min(1-confidence, medianShare*p.positive))
	return lower, upper, err
}

// betweenQuantile finds the sigma_b above which a given share of its distribution lies. For sigma_w = s/S, S = chi/sqrt(df), the
// pivot puts sigma_b above u when
//
//	squares(u²/sigma_w²)/sigma_w²
//
// exceeds a chi-square of the degrees of freedom between, so that one quadrature over S is left.
type betweenQuantile struct {
	layout         *layout
	rule           numeric.ChiRule
	half, constant float64
}

func (q *betweenQuantile) solve(share float64) (float64, error) {
	guess := math.Log(q.layout.squares/q.layout.within) - 1
	x, err := numeric.RootNear(func(x float64) (float64, float64) {
		value, slope := q.above(math.Exp(x))
		return math.Log(value / share), slope / value
	}, 0.5*guess, 1, math.Inf(-1), math.Inf(1))
	return math.Exp(x), err
}

// above is the probability that sigma_b lies above u > 0, and its slope along ln u.
func (q *betweenQuantile) above(u float64) (value, slope float64) {
	mean := q.layout.squares / q.layout.within
	for i := range q.rule.Len() {
		s, w := q.rule.Node(i)
		precision := s * s / mean
		at := q.layout.at(u * u * precision)
		x := 0.5 * at.squares * precision
		value += w * numeric.ChiSquareCDF(2*q.half, 2*x)
		density := math.Exp((q.half-1)*math.Log(x) - x - q.constant)
		slope += w * density * at.slope * precision * u * u * precision
	}
	return value, slope
}

// shareLimits are the exact limits of sigma_b²/(sigma_b² + sigma_w²).
func (p *pivotal) shareLimits(confidence float64) (lower, upper float64, err error) {
	if p.zero < 1-confidence {
		if lower, err = p.layout.shareQuantile(1 - confidence); err != nil {
			return 0, 0, err
		}
	}
	upper, err = p.layout.shareQuantile(max(confidence, p.zero+medianShare*p.positive))
	return lower, upper, err
}

// shareQuantile solves P(theta <= t) = level, which is that of an F above its value at t.
func (l *layout) shareQuantile(level float64) (float64, error) {
	x, err := numeric.RootNear(func(x float64) (float64, float64) {
		s := l.at(math.Exp(x))
		return numeric.FSurvival(l.between, l.within, s.squares/l.between/(l.squares/l.within)) - level, 0
	}, 0, 1, math.Inf(-1), math.Inf(1))
	return 1 / (1 + math.Exp(-x)), err
}
