package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// standing is how a zone stands among the others.
type standing struct {
	// score is the zone's mean less that of the others, over the standard deviation that the others give it.
	score float64
	// pValue is the probability of a zone at least as far away on either side, given the others.
	pValue float64
}

// stand compares a zone with what this layout, of all others, predicts for its mean: given theta,
//
//	(y - mean) / (s sqrt(theta + 1/n + 1/weight))
//
// has a t distribution, and the p-value is its tail averaged over theta under the pivot of the other zones. In a balanced
// layout whose between-variance is not near 0 this is the deleted t of an outlier test on the zone means.
func (l *layout) stand(z own) (standing, error) {
	p, err := newPivotal(l, coarseStep)
	if err != nil {
		return standing{}, err
	}
	tail := func(n *node) float64 {
		d := z.mean - n.mean
		// The square of t has an F distribution, whose upper tail is both tails of t.
		return numeric.FSurvival(1, p.degrees, d*d*p.degrees/(n.sum*(n.theta+1/z.n+1/n.weight)))
	}
	s := standing{pValue: math.Min(1, p.zero*tail(&p.atZero)+p.positive*p.average(tail))}
	s.score = math.Copysign(numeric.NormalQuantileUpper(0.5*s.pValue), z.mean-p.atZero.mean)
	return s, nil
}
