package fit

import (
	"math"

	"example.com/tailbound/service/fault"
)

// ml is the maximum-likelihood fit of a group on the scale of ln reading.
type ml struct {
	mu, sigma float64
	// seMu and seLogSigma are the standard errors of mu and ln sigma from the observed information, covariance is theirs.
	// That of sigma is sigma seLogSigma.
	seMu, seLogSigma, covariance float64
	// logLikelihood counts the density of ln reading for a detected reading.
	logLikelihood float64
	// detectedLogs is the sum of the detected logs.
	detectedLogs float64
}

// naturalLogLikelihood is the log-likelihood with the density of the reading itself in place of that of its log.
func (m *ml) naturalLogLikelihood() float64 { return m.logLikelihood - m.detectedLogs }

// at is the estimate of mu + z sigma and seAt its standard error.
func (m *ml) at(z float64) float64 { return m.mu + z*m.sigma }

func (m *ml) seAt(z float64) float64 {
	slope := z * m.sigma
	return math.Sqrt(max(m.seMu*m.seMu+2*slope*m.covariance+slope*slope*m.seLogSigma*m.seLogSigma, 0))
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

// maximize finds the maximum of the likelihood by Newton's method with a line search, which converges from anywhere because
// the surface is concave. When there is no maximum the error is an Undetermined fault whose sentence says why and whose cause
// is the obstacle.
func maximize(d data) (ml, error) {
	if o := d.obstacle(); o != noObstacle {
		return ml{}, &fault.Error{Code: fault.Undetermined, Text: o.Error(), Cause: o}
	}
	if len(d.below)+len(d.above)+len(d.between) == 0 {
		return uncensoredMaximum(&d), nil
	}
	center, spread := d.rough()
	p, ok := (place{likelihood: likelihood{d: &d, origin: center}, beta: 1 / spread}).climb()
	if !ok {
		return ml{}, fault.Wrap(nil, "the maximum of the likelihood was not reached in %d steps", climbSteps)
	}
	return p.summarize(), nil
}

// uncensoredMaximum is the closed form when every reading has a value.
func uncensoredMaximum(d *data) ml {
	sigma := math.Sqrt(d.squares / d.exact)
	return ml{
		mu: d.mean, sigma: sigma,
		seMu: sigma / math.Sqrt(d.exact), seLogSigma: 1 / math.Sqrt(2*d.exact),
		logLikelihood: -d.exact * (math.Log(sigma) + logRootTwoPi + 0.5),
		detectedLogs:  d.exact * d.mean,
	}
}

// rough is a center and a spread to start from: mean and standard deviation with each censored reading at its bound or in the
// middle of its band. They decide how soon the maximum is found, never where. The spread is greater than 0 whenever a maximum
// exists, for points that are all equal are compatible with every reading.
func (d *data) rough() (center, spread float64) {
	var total, sum float64
	d.points(func(y, weight float64) {
		total += weight
		sum += weight * y
	})
	total += d.exact
	center = (sum + d.exact*d.mean) / total
	squares := d.squares + d.exact*(d.mean-center)*(d.mean-center)
	d.points(func(y, weight float64) { squares += weight * (y - center) * (y - center) })
	return center, math.Sqrt(squares / total)
}

// points visits one point for each censored reading.
func (d *data) points(visit func(y, weight float64)) {
	for _, p := range d.below {
		visit(p.at, p.weight)
	}
	for _, p := range d.above {
		visit(p.at, p.weight)
	}
	for _, p := range d.between {
		visit(p.lower+0.5*(p.upper-p.lower), p.weight)
	}
}

// place is a point on the surface.
type place struct {
	likelihood
	alpha, beta float64
}

// climb runs Newton's method and says whether it settled.
func (p place) climb() (place, bool) {
	here := p.at(p.alpha, p.beta)
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
			there := next.at(next.alpha, next.beta)
			if gain < climbFullStep || there.value >= here.value+climbGainShare*step*gain {
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
	origin := p.origin + alpha/p.beta
	p.alpha = alpha - p.beta*(origin-p.origin)
	p.origin = origin
	return p
}

// newton returns the Newton step and its squared length in standard errors, which is twice the gain foreseen. Where rounding
// has left no curvature in some direction, each parameter steps by itself.
func (s *surface) newton() (da, db, gain float64) {
	if determinant := s.aa*s.bb - s.ab*s.ab; determinant > 0 {
		da, db = (s.ab*s.b-s.bb*s.a)/determinant, (s.ab*s.a-s.aa*s.b)/determinant
	} else {
		da, db = -s.a/s.aa, -s.b/s.bb
	}
	return da, db, da*s.a + db*s.b
}

// summarize turns the maximum into mu and sigma and the information about alpha and beta into that about mu and ln sigma. The
// slopes are 0 at the maximum, so the information moves by the Jacobian alone.
func (p place) summarize() ml {
	s := p.at(p.alpha, p.beta)
	mm := -s.aa * p.beta * p.beta
	ms := (s.aa*p.alpha + s.ab*p.beta) * p.beta
	ss := -(s.aa*p.alpha*p.alpha + 2*s.ab*p.alpha*p.beta + s.bb*p.beta*p.beta)
	determinant := mm*ss - ms*ms
	return ml{
		mu: p.origin + p.alpha/p.beta, sigma: 1 / p.beta,
		seMu: math.Sqrt(ss / determinant), seLogSigma: math.Sqrt(mm / determinant), covariance: -ms / determinant,
		logLikelihood: s.value,
		detectedLogs:  p.d.exact * p.d.mean,
	}
}
