package fit

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// profile is the likelihood maximized under mu + z sigma = q, for any z and q. At fixed z it judges values q of the percentile
// with normal score z (of the geometric mean at z = 0); at fixed q = ln L it judges the exceedance 1 - Phi(z) of the limit L.
type profile struct {
	d    *data
	peak *ml
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

func (p profile) root(z, q float64) signedRoot {
	beta, s := p.constrained(z, q)
	away := q - p.peak.at(z)
	drop := p.peak.logLikelihood - s.value
	if !(drop > quadraticDrop) {
		slope := 1 / p.peak.seAt(z)
		return signedRoot{away * slope, slope, -p.peak.sigma * slope}
	}
	r := math.Copysign(math.Sqrt(2*drop), away)
	// With the origin at q, alpha = -z. The constrained maximum does not move to first order, so that only the constraint's
	// own derivatives count: beta by alpha for q, -1 by alpha for z.
	return signedRoot{r, -beta * s.a / r, s.a / r}
}

// constrained maximizes over beta along alpha = beta (q - origin) - z. With the origin at q that line is alpha = -z, on which
// the likelihood is concave in beta alone. With one-sided readings only, the largest value may be that of an infinite spread.
func (p profile) constrained(z, q float64) (float64, surface) {
	l := likelihood{d: p.d, origin: q}
	if p.d.oneSided() {
		if s := l.at(-z, 0); s.b <= 0 {
			return 0, s
		}
	}
	beta := p.guess(z, q)
	here := l.at(-z, beta)
	for range climbSteps {
		// The gain foreseen by one Newton step along the line is half of this.
		db := -here.b / here.bb
		gain := db * here.b
		step := max(db, -climbEdgeShare*beta)
		if gain < climbSettled {
			beta += step
			return beta, l.at(-z, beta)
		}
		for range climbHalvings {
			there := l.at(-z, beta+step)
			if gain < climbFullStep || there.value >= here.value+climbGainShare*step*here.b {
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
func (p profile) guess(z, q float64) float64 {
	se := p.peak.seAt(z)
	covariance := p.peak.covariance + z*p.peak.sigma*p.peak.seLogSigma*p.peak.seLogSigma
	change := covariance / (se * se) * (q - p.peak.at(z))
	return math.Exp(-min(max(change, -3), 3)) / p.peak.sigma
}

// oneSided says whether no reading has a value or two bounds.
func (d *data) oneSided() bool { return d.exact == 0 && len(d.between) == 0 }

// percentileLimits returns the q on either side of the estimate of mu + z sigma where |r| = root, such as 1.6449 for 90 %
// two-sided; -Inf or +Inf where the likelihood never falls that far.
func (p profile) percentileLimits(z, root float64) (lower, upper float64, err error) {
	if lower, err = p.percentileLimit(z, -root); err != nil {
		return 0, 0, err
	}
	upper, err = p.percentileLimit(z, root)
	return lower, upper, err
}

// percentileLimit is the q with r(z, q) = root, not 0.
func (p profile) percentileLimit(z, root float64) (float64, error) {
	if p.unbounded(z, root) {
		return math.Inf(int(math.Copysign(1, root))), nil
	}
	se := p.peak.seAt(z)
	return numeric.RootNear(func(q float64) (float64, float64) {
		s := p.root(z, q)
		return s.r - root, s.byQ
	}, p.peak.at(z)+root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
}

// unbounded says whether r stays short of root as q goes to infinity on its side. With one-sided readings only, the line then
// ends on beta = 0, where mu runs off with the spread and alpha + z has the sign of q; otherwise an infinite spread has
// likelihood 0.
func (p profile) unbounded(z, root float64) bool {
	if !p.d.oneSided() {
		return false
	}
	below, above := weightOf(p.d.below), weightOf(p.d.above)
	alpha := numeric.NormalQuantile(above / (below + above))
	if (root > 0) != (alpha > -z) {
		alpha = -z
	}
	s := likelihood{d: p.d}.at(alpha, 0)
	return 2*(p.peak.logLikelihood-s.value) <= root*root
}

func weightOf(points []bound) float64 {
	total := 0.0
	for _, b := range points {
		total += b.weight
	}
	return total
}

// scoreLimits returns the z with r(z, q) = root and with r(z, q) = -root: the exceedance 1 - Phi(z) of a limit e^q has its
// lower limit at the second and its upper limit at the first. Both are always finite.
func (p profile) scoreLimits(q, root float64) (lower, upper float64, err error) {
	if lower, err = p.scoreLimit(q, root); err != nil {
		return 0, 0, err
	}
	upper, err = p.scoreLimit(q, -root)
	return lower, upper, err
}

// scoreLimit is the z with r(z, q) = root, not 0.
func (p profile) scoreLimit(q, root float64) (float64, error) {
	z := (q - p.peak.mu) / p.peak.sigma
	se := p.peak.seAt(z) / p.peak.sigma
	return numeric.RootNear(func(z float64) (float64, float64) {
		s := p.root(z, q)
		return s.r - root, s.byZ
	}, z-root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
}
