package likelihood

import (
	"math"

	"example.com/tailbound/service/fault"
)

// Maximum is the maximum-likelihood fit of a group on the scale of ln reading.
type Maximum struct {
	// Mu and Sigma are the estimates.
	Mu, Sigma float64
	// MuError and LogSpreadError are the standard errors of mu and ln sigma from the observed information, Covariance is theirs.
	// That of sigma is sigma LogSpreadError.
	MuError, LogSpreadError, Covariance float64
	// LogLikelihood counts the density of ln reading for a detected reading.
	LogLikelihood float64
}

// At is the estimate of mu + z sigma.
func (m *Maximum) At(z float64) float64 { return m.Mu + z*m.Sigma }

// seAt is the standard error of mu + z sigma.
func (m *Maximum) seAt(z float64) float64 {
	slope := z * m.Sigma
	return math.Sqrt(max(m.MuError*m.MuError+2*slope*m.Covariance+slope*slope*m.LogSpreadError*m.LogSpreadError, 0))
}

const (
	// climbSteps bounds the Newton steps. Most groups take 4 to 7; values that differ by 1e-15 of a far larger distance to a
	// reporting limit take 50.
	climbSteps = 200
	// climbHalvings bounds the halvings of one step.
	climbHalvings = 60
	// climbSettled is the squared length of a Newton step, in standard errors, after which one more full step ends at rounding: the
	// error left is of the order of the square of that step.
	climbSettled = 1e-14
	// climbFullStep is the squared length under which the full step is taken unseen: the gain would drown in rounding.
	climbFullStep = 1e-6
	// climbGainShare is the share of the gain foreseen that a step must bring.
	climbGainShare = 1e-4
	// climbEdgeShare is the share of the way to an infinite spread that one step may take.
	climbEdgeShare = 0.9
)

// Maximize finds the maximum of the likelihood by Newton's method with a line search, which converges from anywhere because
// the surface is concave. When there is no maximum the error is an Undetermined fault whose sentence says why and whose cause
// is the obstacle.
func Maximize(d Data) (Maximum, error) {
	if o := d.obstacle(); o != noObstacle {
		return Maximum{}, &fault.Error{Code: fault.Undetermined, Text: o.Error(), Cause: o}
	}
	if len(d.Below)+len(d.Above)+len(d.Between) == 0 {
		return uncensoredMaximum(&d), nil
	}
	center, spread := d.Rough()
	p, ok := (place{Function: Function{Data: &d, Origin: center}, beta: 1 / spread}).climb()
	if !ok {
		return Maximum{}, fault.Wrap(nil, "the maximum of the likelihood was not reached in %d steps", climbSteps)
	}
	return p.summarize(), nil
}

// uncensoredMaximum is the closed form when every reading has a value.
func uncensoredMaximum(d *Data) Maximum {
	sigma := math.Sqrt(d.Squares / d.Exact)
	return Maximum{
		Mu: d.Mean, Sigma: sigma,
		MuError: sigma / math.Sqrt(d.Exact), LogSpreadError: 1 / math.Sqrt(2*d.Exact),
		LogLikelihood: -d.Exact * (math.Log(sigma) + logRootTwoPi + 0.5),
	}
}

// Rough is a center and a spread to start from: mean and standard deviation with each censored reading at its bound or in the
// middle of its band. They decide how soon the maximum is found, never where. The spread is greater than 0 whenever a maximum
// exists, for points that are all equal are compatible with every reading.
func (d *Data) Rough() (center, spread float64) {
	var total, sum float64
	d.points(func(y, weight float64) {
		total += weight
		sum += weight * y
	})
	total += d.Exact
	center = (sum + d.Exact*d.Mean) / total
	squares := d.Squares + d.Exact*(d.Mean-center)*(d.Mean-center)
	d.points(func(y, weight float64) { squares += weight * (y - center) * (y - center) })
	return center, math.Sqrt(squares / total)
}

// points visits one point for each censored reading.
func (d *Data) points(visit func(y, weight float64)) {
	for _, p := range d.Below {
		visit(p.At, p.Weight)
	}
	for _, p := range d.Above {
		visit(p.At, p.Weight)
	}
	for _, p := range d.Between {
		visit(p.Lower+0.5*(p.Upper-p.Lower), p.Weight)
	}
}

// place is a point on the surface.
type place struct {
	Function
	alpha, beta float64
}

// climb runs Newton's method and says whether it settled.
func (p place) climb() (place, bool) {
	here := p.At(p.alpha, p.beta)
	for range climbSteps {
		da, db, gain := here.newton()
		if gain < climbSettled {
			return p.moved(da, db), true
		}
		step := 1.0
		if db < 0 {
			step = min(1, climbEdgeShare*p.beta/-db)
		}
		for range climbHalvings {
			next := p.moved(step*da, step*db)
			there := next.At(next.alpha, next.beta)
			if gain < climbFullStep || there.Value >= here.Value+climbGainShare*step*gain {
				p, here = next, there
				break
			}
			step *= 0.5
		}
	}
	return p, false
}

// moved takes a step and puts the origin where it leads, so that readings close to each other but far from a reporting limit
// keep their digits. What rounding of the origin leaves stays in alpha. The change of origin is linear in the parameters, so
// it changes no step of Newton's method.
func (p place) moved(da, db float64) place {
	p.beta += db
	alpha := p.alpha + da
	origin := p.Origin + alpha/p.beta
	p.alpha = alpha - p.beta*(origin-p.Origin)
	p.Origin = origin
	return p
}

// newton returns the Newton step and its squared length in standard errors, which is twice the gain foreseen. Where rounding
// has left no curvature in some direction, each parameter steps by itself.
func (s *Surface) newton() (da, db, gain float64) {
	if determinant := s.AA*s.BB - s.AB*s.AB; determinant > 0 {
		da, db = (s.AB*s.B-s.BB*s.A)/determinant, (s.AB*s.A-s.AA*s.B)/determinant
	} else {
		da, db = -s.A/s.AA, -s.B/s.BB
	}
	return da, db, da*s.A + db*s.B
}

// summarize turns the maximum into mu and sigma and the information about alpha and beta into that about mu and ln sigma. The
// slopes are 0 at the maximum, so the information moves by the Jacobian alone.
func (p place) summarize() Maximum {
	s := p.At(p.alpha, p.beta)
	mm := -s.AA * p.beta * p.beta
	ms := (s.AA*p.alpha + s.AB*p.beta) * p.beta
	ss := -(s.AA*p.alpha*p.alpha + 2*s.AB*p.alpha*p.beta + s.BB*p.beta*p.beta)
	determinant := mm*ss - ms*ms
	return Maximum{
		Mu: p.Origin + p.alpha/p.beta, Sigma: 1 / p.beta,
		MuError: math.Sqrt(ss / determinant), LogSpreadError: math.Sqrt(mm / determinant), Covariance: -ms / determinant,
		LogLikelihood: s.Value,
	}
}

// Standardized is the fit of the standardized data, but for the log-likelihood.
func (m *Maximum) Standardized() Maximum {
	return Maximum{Sigma: 1, MuError: m.MuError / m.Sigma, LogSpreadError: m.LogSpreadError, Covariance: m.Covariance / m.Sigma}
}

// Worth is the number of detected readings that would tell as much of ln sigma: 1/(2 var ln sigma).
func (m *Maximum) Worth() float64 { return 1 / (2 * m.LogSpreadError * m.LogSpreadError) }
