package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// profile is minus twice the log-likelihood as a function of theta = sigma_b²/sigma_w² alone, mu and sigma_w at their best:
//
//	degrees ln(squares within + squares(theta)) + sum ln(1 + n theta)  [+ ln weight, when restricted] + constants.
//
// Several groups, each with a mu of its own, share theta and sigma_w.
type profile struct {
	groups []layout
	// within is the sum of squares within zones, degrees the number of readings, or that less one when restricted.
	within, degrees float64
	// restricted asks for the likelihood of the contrasts (REML); it takes one group.
	restricted bool
}

// point is the derivatives of the profile at one theta.
type point struct {
	theta, slope, bend float64
	// variance is the best sigma_w², weight the sum of weights.
	variance, weight float64
}

// value is the profile at a point.
func (p *profile) value(at point) float64 {
	sum := p.degrees * math.Log(at.variance*p.degrees)
	for i := range p.groups {
		sum += p.groups[i].logs(at.theta)
	}
	if p.restricted {
		sum += math.Log(at.weight)
	}
	return sum
}

func (p *profile) at(theta float64) point {
	var sum section
	for i := range p.groups {
		s := p.groups[i].at(theta)
		sum.weight += s.weight
		sum.squares += s.squares
		sum.slope += s.slope
		sum.bend += s.bend
		sum.second += s.second
		sum.third += s.third
	}
	scale := p.within + sum.squares
	pull := sum.slope / scale
	at := point{
		theta: theta, variance: scale / p.degrees, weight: sum.weight,
		slope: p.degrees*pull + sum.weight,
		bend:  p.degrees*(sum.bend/scale-pull*pull) - sum.second,
	}
	if p.restricted {
		share := sum.second / sum.weight
		at.slope -= share
		at.bend += 2*sum.third/sum.weight - share*share
	}
	return at
}

// scanStep is the step of the scan in ln theta: a minimum of the profile is wider than that, because theta enters through
// n/(1 + n theta) only.
const scanStep = 0.35

// minimize returns the lowest point of the profile. The profile of an unbalanced layout may have several minima, so all
// changes of sign of its slope are looked at; theta = 0 is one of the candidates when the slope there is not negative.
func (p *profile) minimize() (point, error) {
	last := p.at(0)
	best, found := last, last.slope >= 0
	first, end := p.span()
	steps := int(math.Ceil((end - first) / scanStep))
	for i := range steps + 1 {
		next := p.at(math.Exp(first + float64(i)*scanStep))
		if last.slope < 0 && next.slope >= 0 {
			theta, err := numeric.Root(func(theta float64) (float64, float64) {
				at := p.at(theta)
				return at.slope, at.bend
			}, last.theta, next.theta)
			if err != nil {
				return point{}, err
			}
			if at := p.at(theta); !found || p.value(at) < p.value(best) {
				best, found = at, true
			}
		}
		last = next
	}
	if !found {
		return point{}, numeric.ErrNoConvergence
	}
	return best, nil
}

// span is the range of ln theta in which the slope can vanish, apart from theta so small that it is 0 to a person: the fall of
// the squares, at most the sum of squares of the means over theta², has to make up for the sum of weights, which is at least
// of the order of the number of zones over theta.
func (p *profile) span() (first, end float64) {
	largest, count, squares := 0.0, 0.0, 0.0
	for i := range p.groups {
		center := p.groups[i].at(0).mean
		for _, c := range p.groups[i].classes {
			largest = max(largest, c.n)
			count += c.count
			squares += c.squares + c.count*(c.mean-center)*(c.mean-center)
		}
	}
	const smallest, margin = 1e-6, 16
	smallestN := largest
	for i := range p.groups {
		for _, c := range p.groups[i].classes {
			smallestN = min(smallestN, c.n)
		}
	}
	reach := margin * (1/smallestN + count*p.degrees*squares/p.within)
	return math.Log(smallest / largest), math.Log(max(reach, 1/largest))
}
