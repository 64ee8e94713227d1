package variance

import (
	"math"
)

// logTwoPi is ln(2 pi).
const logTwoPi = 1.837877066409345483560659472811235279722794947275566825634

// Estimates are the parameters at the maximum of a likelihood, on the scale of ln reading.
type Estimates struct {
	// Mu is the mean of the zone means and MuSE its standard error, the variances taken as known.
	Mu, MuSE float64
	// Between and Within are the standard deviations sigma_b and sigma_w.
	Between, Within float64
	// LogBetweenSE and LogWithinSE are standard errors of ln sigma_b and ln sigma_w from the observed information; those of
	// sigma_b and sigma_w are these times the estimate. NaN when sigma_b is 0, where no curvature gives them.
	LogBetweenSE, LogWithinSE float64
	// LogLikelihood is the logarithm of the likelihood of ln reading, of the contrasts with N-1 terms ln(2 pi) when restricted.
	LogLikelihood float64
}

// fitUncensored maximizes the likelihood, or the restricted one, of readings that all have a value.
func fitUncensored(l *layout, restricted bool) (Estimates, error) {
	p := profile{groups: []layout{*l}, within: l.squares, degrees: l.total(), restricted: restricted}
	if !restricted {
		p.degrees++
	}
	at, err := p.minimize()
	if err != nil {
		return Estimates{}, err
	}
	s := l.at(at.theta)
	e := Estimates{
		Mu:            l.origin + s.mean,
		MuSE:          math.Sqrt(at.variance / s.weight),
		Between:       math.Sqrt(at.theta * at.variance),
		Within:        math.Sqrt(at.variance),
		LogLikelihood: -0.5 * (p.value(at) + p.degrees*(logTwoPi+1-math.Log(p.degrees))),
	}
	e.LogBetweenSE, e.LogWithinSE = p.errors(at, s.slope)
	return e, nil
}

// errors returns the standard errors of ln sigma_b and ln sigma_w. With t = ln theta and v = ln sigma_w² the second derivatives
// of minus twice the log-likelihood at its minimum are
//
//	vv = degrees,   tv = -theta squares'/sigma_w²,   tt = theta² (second derivative by theta at fixed sigma_w),
//
// and ln sigma_b = (t+v)/2, ln sigma_w = v/2.
func (p *profile) errors(at point, slope float64) (between, within float64) {
	if at.theta == 0 {
		return math.NaN(), math.NaN()
	}
	vv := p.degrees
	tv := -at.theta * slope / at.variance
	// The profile's second derivative is tt - tv²/vv, over theta².
	profiled := at.bend * at.theta * at.theta
	// Half the second derivatives are the information; the inverse in (t, v):
	covTT, covVV := 2/profiled, 2/vv+2*tv*tv/(vv*vv*profiled)
	covTV := -2 * tv / (vv * profiled)
	return 0.5 * math.Sqrt(covTT+2*covTV+covVV), 0.5 * math.Sqrt(covVV)
}
