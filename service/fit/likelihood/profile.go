package likelihood

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// Profile is the likelihood maximized under mu + z sigma = q, for any z and q. At fixed z it judges values q of the percentile
// with normal score z (of the geometric mean at z = 0); at fixed q = ln L it judges the exceedance 1 - Phi(z) of the limit L.
type Profile struct {
	// Data are the readings and Peak their maximum.
	Data *Data
	Peak *Maximum
}

// quadraticDrop is the drop of the log-likelihood under which the quadratic approximation beats the difference of two nearly
// equal values.
const quadraticDrop = 1e-10

// signedRoot is the signed root of the likelihood ratio, with its derivatives by q and by z,
//
//	r(z, q) = sign(q - q̂) sqrt(2 (maximum - constrained maximum)),   q̂ the estimate of mu + z sigma.
//
// It rises with q and falls with z, and Phi(r) is to first order the confidence that mu + z sigma <= q.
type signedRoot struct{ r, byQ, byZ float64 }

func (p Profile) root(z, q float64) signedRoot {
	beta, s := p.Constrained(z, q)
	away := q - p.Peak.At(z)
	drop := p.Peak.LogLikelihood - s.Value
	if !(drop > quadraticDrop) {
		slope := 1 / p.Peak.seAt(z)
		return signedRoot{away * slope, slope, -p.Peak.Sigma * slope}
	}
	r := math.Copysign(math.Sqrt(2*drop), away)
	// With the origin at q, alpha = -z. The constrained maximum does not move to first order, so that only the constraint's
	// own derivatives count: beta by alpha for q, -1 by alpha for z.
	return signedRoot{r, -beta * s.A / r, s.A / r}
}

// Constrained maximizes over beta along alpha = beta (q - origin) - z. With the origin at q that line is alpha = -z, on which
// the likelihood is concave in beta alone. With one-sided readings only, the largest value may be that of an infinite spread.
func (p Profile) Constrained(z, q float64) (float64, Surface) {
	l := Function{Data: p.Data, Origin: q}
	if p.Data.OneSided() {
		if s := l.At(-z, 0); s.B <= 0 {
			return 0, s
		}
	}
	beta := p.guess(z, q)
	here := l.At(-z, beta)
	for range climbSteps {
		// The gain foreseen by one Newton step along the line is half of this.
		db := -here.B / here.BB
		gain := db * here.B
		step := max(db, -climbEdgeShare*beta)
		if gain < climbSettled {
			beta += step
			return beta, l.At(-z, beta)
		}
		for range climbHalvings {
			there := l.At(-z, beta+step)
			if gain < climbFullStep || there.Value >= here.Value+climbGainShare*step*here.B {
				beta, here = beta+step, there
				break
			}
			step *= 0.5
		}
	}
	return beta, here
}

// guess is where the quadratic approximation around the peak is largest on the line; the estimate where that is no spread.
// In mu and ln sigma the approximation is best, so the line is followed there: a shift of mu + z sigma by d changes ln sigma
// by cov(ln sigma, mu + z sigma)/var(mu + z sigma) d.
func (p Profile) guess(z, q float64) float64 {
	se := p.Peak.seAt(z)
	covariance := p.Peak.Covariance + z*p.Peak.Sigma*p.Peak.LogSpreadError*p.Peak.LogSpreadError
	change := covariance / (se * se) * (q - p.Peak.At(z))
	return math.Exp(-min(max(change, -3), 3)) / p.Peak.Sigma
}

// OneSided says whether no reading has a value or two bounds.
func (d *Data) OneSided() bool { return d.Exact == 0 && len(d.Between) == 0 }

// PercentileLimit is the q with r(z, q) = root, not 0.
func (p Profile) PercentileLimit(z, root float64) (float64, error) {
	if p.unbounded(z, root) {
		return math.Inf(int(math.Copysign(1, root))), nil
	}
	se := p.Peak.seAt(z)
	return numeric.RootNear(func(q float64) (float64, float64) {
		s := p.root(z, q)
		return s.r - root, s.byQ
	}, p.Peak.At(z)+root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
}

// unbounded says whether r stays short of root as q goes to infinity on its side. With one-sided readings only, the line then
// ends on beta = 0, where mu runs off with the spread and alpha + z has the sign of q; otherwise an infinite spread has
// likelihood 0.
func (p Profile) unbounded(z, root float64) bool {
	if !p.Data.OneSided() {
		return false
	}
	below, above := WeightOf(p.Data.Below), WeightOf(p.Data.Above)
	alpha := numeric.NormalQuantile(above / (below + above))
	if (root > 0) != (alpha > -z) {
		alpha = -z
	}
	s := Function{Data: p.Data}.At(alpha, 0)
	return 2*(p.Peak.LogLikelihood-s.Value) <= root*root
}

// WeightOf is the total weight of points.
func WeightOf(points []Bound) float64 {
	total := 0.0
	for _, b := range points {
		total += b.Weight
	}
	return total
}

// ScoreLimit is the z with r(z, q) = root, not 0.
func (p Profile) ScoreLimit(q, root float64) (float64, error) {
	z := (q - p.Peak.Mu) / p.Peak.Sigma
	se := p.Peak.seAt(z) / p.Peak.Sigma
	return numeric.RootNear(func(z float64) (float64, float64) {
		s := p.root(z, q)
		return s.r - root, s.byZ
	}, z-root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
}
