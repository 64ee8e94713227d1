package fit

import (
	"math"

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
	profile
	z float64
}

func (f percentileFamily) at(root float64) (float64, tested, error) {
	q, err := f.percentileLimit(f.z, root)
	return q, f.tested(q), err
}

// tested is the hypothesis mu + z sigma = q, the line alpha = beta q - z.
func (f percentileFamily) tested(q float64) tested {
	beta, s := f.constrained(f.z, q)
	drop := f.peak.logLikelihood - s.value
	return tested{
		root:  math.Copysign(math.Sqrt(2*max(drop, 0)), q-f.peak.at(f.z)),
		alpha: beta*q - f.z, beta: beta,
		byAlpha: 1, byBeta: -q, bend: -s.bb,
	}
}

// scoreFamily is about the z with mu + z sigma = q, the normal score of the exceedance of e^q.
type scoreFamily struct {
	profile
	q float64
}

func (f scoreFamily) at(root float64) (float64, tested, error) {
	z, err := f.scoreLimit(f.q, root)
	return z, f.tested(z), err
}

func (f scoreFamily) tested(z float64) tested { return percentileFamily{f.profile, z}.tested(f.q) }

// spreadFamily is about lambda = ln sigma.
type spreadFamily struct{ profile }

func (f spreadFamily) at(root float64) (float64, tested, error) {
	se := f.peak.seLogSigma
	lambda, err := numeric.RootNear(func(lambda float64) (float64, float64) {
		t := f.tested(lambda)
		return t.root - root, t.slope
	}, root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
	return lambda, f.tested(lambda), err
}

// tested is the hypothesis beta = exp(-lambda).
func (f spreadFamily) tested(lambda float64) tested {
	beta := math.Exp(-lambda)
	l := likelihood{d: f.d}
	var s surface
	// At given sigma the estimate of mu moves little: start from the regression of alpha = mu/sigma at the peak.
	alpha := f.peak.covariance / (f.peak.seLogSigma * f.peak.seLogSigma) * lambda * beta
	alpha = ascend(func(alpha float64) (float64, float64, float64) {
		s = l.at(alpha, beta)
		return s.value, s.a, s.aa
	}, alpha, spreadReach)
	root := math.Copysign(math.Sqrt(2*max(f.peak.logLikelihood-s.value, 0)), lambda)
	return tested{root: root, slope: beta * s.b / root, alpha: alpha, beta: beta, byBeta: 1, bend: -s.aa}
}

// meanFamily is about mu + share sigma²; with share half the estimate of sigma that is the log of the arithmetic mean on the
// standardized scale.
type meanFamily struct {
	profile
	share float64
}

func (f meanFamily) at(root float64) (float64, tested, error) {
	slope := 2 * f.share
	p := f.peak
	se := math.Sqrt(p.seMu*p.seMu + 2*slope*p.covariance + slope*slope*p.seLogSigma*p.seLogSigma)
	m, err := numeric.RootNear(func(m float64) (float64, float64) {
		t := f.tested(m)
		return t.root - root, t.slope
	}, f.share+root*se, math.Abs(root)*se, math.Inf(-1), math.Inf(1))
	return m, f.tested(m), err
}

// tested is the hypothesis mu + share sigma² = m, the curve alpha = m beta - share/beta. The maximum along it is sought by ln beta.
func (f meanFamily) tested(m float64) tested {
	l := likelihood{d: f.d}
	var s surface
	alpha := func(beta float64) float64 { return m*beta - f.share/beta }
	x := ascend(func(x float64) (float64, float64, float64) {
		beta := math.Exp(x)
		s = l.at(alpha(beta), beta)
		da, dda := m*beta+f.share/beta, m*beta-f.share/beta
		slope := s.a*da + s.b*beta
		return s.value, slope, s.aa*da*da + 2*s.ab*da*beta + s.bb*beta*beta + s.a*dda + s.b*beta
	}, 0, 1)
	beta := math.Exp(x)
	da, dda := m+f.share/(beta*beta), -2*f.share/(beta*beta*beta)
	root := math.Copysign(math.Sqrt(2*max(f.peak.logLikelihood-s.value, 0)), m-f.share)
	return tested{
		root: root, slope: -beta * s.a / root, alpha: alpha(beta), beta: beta,
		byAlpha: 1, byBeta: -da, bend: -(s.bb + 2*s.ab*da + s.aa*da*da + s.a*dda),
	}
}

const (
	// ascendSteps bounds the Newton steps along one curve; most take 3 to 6.
	ascendSteps = 100
	// spreadReach bounds a step of alpha, along which the likelihood is concave.
	spreadReach = 1e3
	// ascendSettled is the squared length of a Newton step, in standard errors, after which the error left drowns in rounding.
	ascendSettled = 1e-16
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
		for range climbHalvings {
			v, s, b := f(x + step)
			if gain < climbFullStep || v >= value {
				x, value, slope, bend = x+step, v, s, b
				break
			}
			step *= 0.5
		}
	}
	return x
}
