package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// question asks for the chance that a randomly chosen zone's own percentile lies above the limit,
//
//	chance = Phi((mu + score sigma_w - limit)/sigma_b),
//
// where limit is the natural log of the limit, from the origin of the layout, and score the normal score of the percentile.
type question struct{ limit, score float64 }

// estimate puts the estimates into the formula. With sigma_b = 0 every zone has the same percentile, and the chance is 0 or 1.
func (q question) estimate(mu, between, within float64) float64 {
	above := mu + q.score*within - q.limit
	if between == 0 {
		if above > 0 {
			return 1
		}
		return 0
	}
	return numeric.NormalCDF(above / between)
}

// atMost is the probability that the chance is at most Phi(c), given the theta of a node. There sigma_w and mu come from a
// normal sample of known shape, so the event
//
//	mu + (score - c sqrt(theta)) sigma_w <= limit
//
// has the probability of a noncentral t, as for a tolerance limit.
func (q question) atMost(n *node, degrees, c float64) float64 {
	root := math.Sqrt(n.weight)
	t := numeric.NoncentralT{Nu: degrees, Delta: (q.score - c*math.Sqrt(n.theta)) * root}
	return t.CDF((q.limit - n.mean) * root / math.Sqrt(n.sum/degrees))
}

// chanceLimits are the limits of the chance.
func (p *pivotal) chanceLimits(q question, confidence float64) (lower, upper float64, err error) {
	below := p.zero * q.atMost(&p.atZero, p.degrees, 0)
	if lower, err = p.chanceQuantile(q, min((1-confidence-below)/p.positive, medianShare)); err != nil {
		return 0, 0, err
	}
	upper, err = p.chanceQuantile(q, max((confidence-below)/p.positive, medianShare))
	return lower, upper, err
}

// chanceQuantile is the chance at the given level of its distribution, given that sigma_b is not 0. Along normal scores both
// ways the function is nearly straight, so the slope of the chord from the last point serves.
func (p *pivotal) chanceQuantile(q question, level float64) (float64, error) {
	if level <= 0 {
		return 0, nil
	}
	if level >= 1 {
		return 1, nil
	}
	target := numeric.NormalQuantile(level)
	miss := func(c float64) float64 {
		// The masses add up to 1 but for rounding.
		p := math.Min(1, p.average(func(n *node) float64 { return q.atMost(n, p.degrees, c) }))
		return math.Max(-chanceReach, math.Min(chanceReach, numeric.NormalQuantile(p))) - target
	}
	last, guess := 0.0, 0.5
	lastMiss := miss(last)
	c, err := numeric.RootNear(func(c float64) (float64, float64) {
		value := miss(c)
		slope := (value - lastMiss) / (c - last)
		last, lastMiss = c, value
		return value, slope
	}, guess, 0.5, -chanceReach, chanceReach)
	switch {
	case err == nil:
		return numeric.NormalCDF(c), nil
	case miss(chanceReach) < 0:
		return 1, nil
	case miss(-chanceReach) > 0:
		return 0, nil
	}
	return 0, err
}

// chanceReach is the normal score beyond which a chance is 0 or 1: Phi(-38) is the smallest float64.
const chanceReach = 38
