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
	if p.zero < 1-confidence {
		if lower, err = p.betweenQuantile(confidence / p.positive); err != nil {
			return 0, 0, err
		}
	}
	upper, err = p.betweenQuantile(min((1-confidence)/p.positive, medianShare))
	return lower, upper, err
}

// betweenQuantile is the sigma_b that lies below the given share of its distribution, given that it is not 0.
func (p *pivotal) betweenQuantile(above float64) (float64, error) {
	guess := 0.5 * math.Log(p.average(func(n *node) float64 { return math.Min(n.theta, 1e6) })*p.atZero.sum/p.degrees)
	x, err := numeric.RootNear(func(x float64) (float64, float64) {
		value, slope := p.betweenAbove(math.Exp(x))
		return value - above, slope
	}, guess, 0.5, math.Inf(-1), math.Inf(1))
	return math.Exp(x), err
}

// betweenAbove is the probability that sigma_b lies above u > 0, given that it is not 0, and its slope along ln u.
func (p *pivotal) betweenAbove(u float64) (value, slope float64) {
	half := 0.5 * p.degrees
	constant, _ := math.Lgamma(half)
	for i := range p.nodes {
		n := &p.nodes[i]
		x := n.sum * n.theta / (u * u)
		value += n.mass * numeric.ChiSquareCDF(p.degrees, x)
		slope -= n.mass * 2 * math.Exp(half*math.Log(0.5*x)-0.5*x-constant)
	}
	return value, slope
}

// shareLimits are the exact limits of sigma_b²/(sigma_b² + sigma_w²).
func (l *layout) shareLimits(p *pivotal, confidence float64) (lower, upper float64, err error) {
	if p.zero < 1-confidence {
		if lower, err = l.shareQuantile(1 - confidence); err != nil {
			return 0, 0, err
		}
	}
	upper, err = l.shareQuantile(max(confidence, p.zero+medianShare*p.positive))
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
