package planning

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// mean is the rule of Land's 95 % limits of the arithmetic mean: compliant when the upper one is below the limit, not
// compliant when the lower one is above it. Both limits are the mean of the logs plus a margin d(s) that depends on n and
// the standard deviation s only, and the mean of the logs is independent of s, so
//
//	P(compliant) = E Phi(sqrt(n) (score - d(s)/sigma))
//
// is an expectation over s = sigma S alone.
//
// Source: Land (1971), Annals of Mathematical Statistics 42, 1187 (from memory), for the limits.
func (p *Planner) mean(a Assumption, n int) (Chances, error) {
	if n < 2 {
		return undecided(), nil
	}
	s := p.of(n)
	f := p.transform()
	compliant, not := expectSpread(s.n-1, func(ratio float64) (float64, float64) {
		sd := a.sigma * ratio
		return numeric.NormalCDF(s.root * (a.score - s.margins.upper.at(sd, n, confidence, f)/a.sigma)),
			numeric.NormalCDF(s.root * (s.margins.lower.at(sd, n, 1-confidence, f)/a.sigma - a.score))
	})
	if math.IsNaN(compliant + not) {
		return Chances{}, errMargin()
	}
	return settle(compliant, not), nil
}

// expectSpread is the expectation of two functions of S = s/sigma, the root of chi-square over its nu degrees of freedom,
// by the trapezoid rule along ln S in the warp
//
//	ln S = x + 3/8 (1 - exp(-8x/3)),
//
// under which the density falls off doubly exponentially and is nearly normal about x = 0. The spacing is halved until two
// sums agree to 1e-6, which makes the finer one good to about 1e-12: a limit that moves fast with s makes a steep step.
func expectSpread(nu float64, f func(ratio float64) (float64, float64)) (first, second float64) {
	const halvings, agreement = 7, 1e-6
	h := 0.5 / math.Sqrt(math.Sqrt(nu*nu+25))
	sum := spreadSum{nu: nu, f: f}
	sum.march(0, h)
	sum.march(-h, -h)
	for range halvings {
		fine := spreadSum{nu: nu, f: f}
		fine.march(0.5*h, h)
		fine.march(-0.5*h, -h)
		gap := math.Abs(sum.first/sum.weight-fine.first/fine.weight) + math.Abs(sum.second/sum.weight-fine.second/fine.weight)
		sum.weight, sum.first, sum.second = sum.weight+fine.weight, sum.first+fine.first, sum.second+fine.second
		h *= 0.5
		if gap < agreement {
			break
		}
	}
	return sum.first / sum.weight, sum.second / sum.weight
}

// spreadSum is a trapezoid sum; the weights are divided by their own sum.
type spreadSum struct {
	nu                    float64
	f                     func(ratio float64) (float64, float64)
	weight, first, second float64
}

// march adds the nodes at x, x+step, ... until the density no longer counts.
func (q *spreadSum) march(x, step float64) {
	const cut = 39.0 // powers of e
	for ; ; x += step {
		fall := math.Exp(-8.0 / 3 * x)
		u := x + 3.0/8*(1-fall)
		// ln of S^nu exp(-nu (S²-1)/2).
		g := q.nu * (u - 0.5*math.Expm1(2*u))
		if g < -cut {
			return
		}
		w := (1 + fall) * math.Exp(g)
		a, b := q.f(math.Exp(u))
		q.weight += w
		q.first += w * a
		q.second += w * b
	}
}
