package planning

import "example.com/tailbound/service/numeric"

// percentile is the rule of the 95 % limits of the 95th percentile, and that of the posterior probability as well: under the
// reference prior the probability that the percentile exceeds the limit is at most 5 % exactly when its upper 95 % limit is
// at most the limit (the two differ on a set of probability 0). With k the tolerance factor the upper limit lies below the
// limit when
//
//	mean + k s < ln L,   that is   T = sqrt(n) (ln L - mean)/s > k sqrt(n),
//
// and T is noncentral t with n-1 degrees of freedom and noncentrality sqrt(n) (ln L - mu)/sigma.
//
// Source: Guttman (1970), Statistical Tolerance Regions (from memory).
func (p *Planner) percentile(a Assumption, n int) Chances {
	if n < 2 {
		return undecided()
	}
	s := p.of(n).factors()
	return settle(s.limitBelow(a.score, s.upper), s.limitAbove(a.score, s.lower))
}

// limitBelow is the chance that mean + k s comes out below a limit of the given score.
func (s *size) limitBelow(score, k float64) float64 {
	return numeric.NoncentralT{Nu: s.n - 1, Delta: s.root * score}.Survival(s.root * k)
}

// limitAbove is the chance that mean + k s comes out above it.
func (s *size) limitAbove(score, k float64) float64 {
	return numeric.NoncentralT{Nu: s.n - 1, Delta: s.root * score}.CDF(s.root * k)
}
