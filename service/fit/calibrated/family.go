package calibrated

import (
	"math"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
)

// tested is a hypothesis about one quantity psi: the signed root r of its likelihood ratio and, at the constrained maximum, what
// the adjustment of r needs. All on the standardized scale, in Burridge's alpha and beta.
type tested struct {
	root, alpha, beta float64
	// slope is that of r by the value of the quantity, where a hypothesis needs it.
	slope float64
	// byAlpha and byBeta are the slopes of psi, scaled so that (psi, one of alpha and beta) has the Jacobian 1.
	byAlpha, byBeta float64
	// bend is the curvature of the log-likelihood along the hypothesis, by that other parameter, with its sign changed.
	bend float64
}

// hypothesis is the hypotheses about one quantity, on the standardized scale.
type hypothesis interface {
	// tested is the hypothesis that the quantity has the value.
	tested(value float64) tested
	// at is the value whose r is root, not 0, and its hypothesis.
	at(root float64) (value float64, t tested, err error)
}

// percentileFamily is about mu + z sigma.
type percentileFamily struct {
	likelihood.Profile
	z float64
}

func (f percentileFamily) at(root float64) (float64, tested, error) {
	q, err := f.PercentileLimit(f.z, root)
	return q, f.tested(q), err
}

// tested is the hypothesis mu + z sigma = q, the line alpha = beta q - z.
func (f percentileFamily) tested(q float64) tested {
	beta, s := f.Constrained(f.z, q)
	drop := f.Peak.LogLikelihood - s.Value
	return tested{
		root:  math.Copysign(math.Sqrt(2*max(drop, 0)), q-f.Peak.At(f.z)),
		alpha: beta*q - f.z, beta: beta,
		byAlpha: 1, byBeta: -q, bend: -s.BB,
	}
}

// scoreFamily is about the z with mu + z sigma = q, the normal score of the exceedance of e^q.
type scoreFamily struct {
	likelihood.Profile
	q float64
}

func (f scoreFamily) at(root float64) (float64, tested, error) {
	z, err := f.ScoreLimit(f.q, root)
	return z, f.tested(z), err
}

func (f scoreFamily) tested(z float64) tested { return percentileFamily{f.Profile, z}.tested(f.q) }

// spreadFamily is about lambda = ln sigma.
type spreadFamily struct{ likelihood.Profile }

func (f spreadFamily) at(root float64) (float64, tested, error) {
	se := f.Peak.LogSpreadError
	lambda, err := numeric.RootNear(func(lambda float64) (float64, float64) {
		t := f.tested(lambda)
		return t.root - root, t.slope
	}, root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
	return lambda, f.tested(lambda), err
}

// tested is the hypothesis beta = exp(-lambda).
func (f spreadFamily) tested(lambda float64) tested {
	beta := math.Exp(-lambda)
	l := likelihood.Function{Data: f.Data}
	var s likelihood.Surface
	// At given sigma the estimate of mu moves little: start from the regression of alpha = mu/sigma at the peak.
	alpha := f.Peak.Covariance / (f.Peak.LogSpreadError * f.Peak.LogSpreadError) * lambda * beta
	alpha = ascend(func(alpha float64) (float64, float64, float64) {
		s = l.At(alpha, beta)
		return s.Value, s.A, s.AA
	}, alpha, spreadReach)
	root := math.Copysign(math.Sqrt(2*max(f.Peak.LogLikelihood-s.Value, 0)), lambda)
	return tested{root: root, slope: beta * s.B / root, alpha: alpha, beta: beta, byBeta: 1, bend: -s.AA}
}

// meanFamily is about mu + share sigma²; with share half the estimate of sigma that is the log of the arithmetic mean on the
// standardized scale.
type meanFamily struct {
	likelihood.Profile
	share float64
}

func (f meanFamily) at(root float64) (float64, tested, error) {
	slope := 2 * f.share
	p := f.Peak
	se := math.Sqrt(p.MuError*p.MuError + 2*slope*p.Covariance + slope*slope*p.LogSpreadError*p.LogSpreadError)
	m, err := numeric.RootNear(func(m float64) (float64, float64) {
		t := f.tested(m)
		return t.root - root, t.slope
	}, f.share+root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
	return m, f.tested(m), err
}

// tested is the hypothesis mu + share sigma² = m, the curve alpha = m beta - share/beta. The maximum along it is sought by ln beta.
func (f meanFamily) tested(m float64) tested {
	l := likelihood.Function{Data: f.Data}
	var s likelihood.Surface
	alpha := func(beta float64) float64 { return m*beta - f.share/beta }
	x := ascend(func(x float64) (float64, float64, float64) {
		beta := math.Exp(x)
		s = l.At(alpha(beta), beta)
		da, dda := m*beta+f.share/beta, m*beta-f.share/beta
		slope := s.A*da + s.B*beta
		return s.Value, slope, s.AA*da*da + 2*s.AB*da*beta + s.BB*beta*beta + s.A*dda + s.B*beta
	}, 0, 1)
	beta := math.Exp(x)
	da, dda := m+f.share/(beta*beta), -2*f.share/(beta*beta*beta)
	root := math.Copysign(math.Sqrt(2*max(f.Peak.LogLikelihood-s.Value, 0)), m-f.share)
	return tested{
		root: root, slope: -beta * s.A / root, alpha: alpha(beta), beta: beta,
		byAlpha: 1, byBeta: -da, bend: -(s.BB + 2*s.AB*da + s.AA*da*da + s.A*dda),
	}
}

const (
	// ascendSteps bounds the Newton steps along one curve; most take 3 to 6.
	ascendSteps = 100
	// spreadReach bounds a step of alpha, along which the likelihood is concave.
	spreadReach = 1e3
	// ascendSettled is the squared length of a Newton step, in standard errors, after which the error left drowns in rounding.
	ascendSettled = 1e-16
	// ascendHalvings bounds the halvings of one step.
	ascendHalvings = 60
	// ascendFullStep is the squared length under which the full step is taken unseen: the gain would drown in rounding.
	ascendFullStep = 1e-6
)

// ascend climbs to the maximum of f, which returns its value, slope and bend, from x by Newton's method with a line search; no
// step is longer than reach. The last call of f is at the point returned.
func ascend(f func(x float64) (value, slope, bend float64), x, reach float64) float64 {
	value, slope, bend := f(x)
	for range ascendSteps {
		step := math.Copysign(reach, slope)
		if bend < 0 {
			step = max(-reach, min(reach, -slope/bend))
		}
		gain := math.Abs(step * slope)
		if gain < ascendSettled {
			f(x + step)
			return x + step
		}
		for range ascendHalvings {
			v, s, b := f(x + step)
			if gain < ascendFullStep || v >= value {
				x, value, slope, bend = x+step, v, s, b
				break
			}
			step *= 0.5
		}
	}
	return x
}
