package planning

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// The steps of EN 689:2018, 5.5.2 and 5.5.3 (from memory; the rule itself is in package decision): the preliminary test
// takes 3 to 5 results, the statistical test 6 or more.
const (
	preliminary = 3
	statistic   = 6
)

// preliminaryFraction is the fraction of the limit below which all of n = 3, 4 or 5 results must lie.
func preliminaryFraction(n int) float64 { return [...]float64{3: 0.1, 4: 0.15, 5: 0.2}[n] }

// en689 is the whole procedure on n results: not compliant when any result is above the limit; otherwise, with 3 to 5,
// compliant when all lie below the fraction of the preliminary test, and with 6 or more, compliant when the upper 70 %
// limit of the 95th percentile lies below the limit and not compliant when it does not.
func (p *Planner) en689(a Assumption, n int) Chances {
	if n >= statistic {
		return p.en689Statistic(a, n)
	}
	over := -math.Expm1(float64(n) * numeric.LogNormalCDF(a.score))
	low := 0.0
	if n >= preliminary {
		low = math.Exp(float64(n) * numeric.LogNormalCDF(a.score+math.Log(preliminaryFraction(n))/a.sigma))
	}
	return settle(low, over)
}

// en689Statistic: with UR = (ln L - mean)/s, not compliant when UR < UT, a noncentral t probability, or when UR >= UT but a
// result is above the limit. The largest result is (n-1)/sqrt(n) standard deviations above the mean at most, so the second
// part is nil for n = 6, where UT = 2.187 is more than that; from n = 7 on it is an integral over UR.
func (p *Planner) en689Statistic(a Assumption, n int) Chances {
	s := p.of(n)
	ut := s.ut()
	above := s.limitBelow(a.score, ut)
	over := 0.0
	if law := p.law(n); ut < law.largest() && above > negligible {
		over = law.overWhileAbove(a.score, ut)
	}
	return settle(above-over, 1-above+over)
}

// negligible is a probability too small to change a chance.
const negligible = 1e-15

// overWhileAbove is the chance that UR >= least and yet an observation is above the limit of the given score,
//
//	∫ P(D > u) h(u) du   over u from least to the largest deviate,
//
// h the density of UR. It is taken along the angle theta of the law, where P(D > u) is smooth, between the places where h
// has fallen to nothing. The error is below 1e-12 up to n = 200 and 1e-8 up to MaxSamples
// (measured between two sets of panels).
func (l *deviateLaw) overWhileAbove(score, least float64) float64 {
	h := newRatioDensity(l.n, score)
	lo, hi := h.reach()
	largest := l.largest()
	from := max(l.edges[0], math.Acos(max(0, min(1, hi/largest))))
	to := math.Acos(max(least, lo) / largest)
	if !(from < to) {
		return 0
	}
	panels := math.Ceil((min(hi, largest*math.Cos(from)) - max(lo, least)) / h.step)
	width := (to - from) / panels
	sum := 0.0
	for i := range int(panels) {
		start := from + float64(i)*width
		sum += numeric.GaussLegendre(func(theta float64) float64 {
			sin, cos := math.Sincos(theta)
			return (1 - l.at(theta)) * h.at(largest*cos) * largest * sin
		}, start, start+width)
	}
	return sum
}
