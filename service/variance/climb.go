package variance

import (
	"math"
	"slices"

	"example.com/tailbound/service/fault"
)

const (
	// climbSteps bounds the Newton steps; 5 to 15 are usual.
	climbSteps = 200
	// climbSettled is the gain foreseen, in units of ln likelihood, after which one full step more ends at rounding.
	climbSettled = 1e-15
	// climbUnseen is the gain foreseen under which a step is taken without looking: the gain would drown in rounding.
	climbUnseen = 1e-9
	// boundaryRatio is the sigma_b/sigma_w under which sigma_b is taken as running to 0.
	boundaryRatio = 1e-4
	// runaway is the |ln sigma| beyond the start at which the likelihood is taken as having no maximum.
	runaway = 40
)

// surface is a log-likelihood to be maximized over some of the parameters.
type surface struct {
	at func(place) jet
	// free lists the parameters to be moved.
	free []int
}

// climb maximizes by Newton's method, damped where the surface is not concave or a step does not lead up. It ends early when
// sigma_b runs to 0, which the caller sees from boundaryRatio.
func (s surface) climb(p place) (place, jet, error) {
	start := p
	here := s.at(p)
	damping := 0.0
	for range climbSteps {
		step, gain, ok := s.newton(&here, damping)
		if !ok {
			damping = max(2*damping, 1e-3)
			continue
		}
		next := p.moved(step)
		if slices.Contains(s.free, byLogBetween) && next.between < boundaryRatio*next.within {
			return next, here, nil
		}
		if !(math.Abs(math.Log(next.within/start.within)) < runaway) || next.between > start.between*math.Exp(runaway) {
			break
		}
		there := s.at(next)
		if !(gain < climbUnseen || there.value >= here.value && there.value < math.Inf(1)) {
			damping = max(4*damping, 1e-2)
			continue
		}
		p, here = next, there
		damping *= 0.2
		if damping < 1e-4 {
			damping = 0
		}
		if gain < climbSettled {
			return p, here, nil
		}
	}
	return p, here, fault.Unsettled("the variances between and within could not be told apart from these readings: " +
		"the likelihood has no maximum that could be reached; take more readings that have a value")
}

// longestStep bounds a step in mu, in sigmas.
const longestStep = 5

// moved is the place after a step in (mu, ln sigma_b, ln sigma_w), kept to a factor of e² in each sigma.
func (p place) moved(step [parameters]float64) place {
	clip := func(x float64) float64 { return math.Exp(math.Max(-2, math.Min(2, x))) }
	reach := longestStep * (p.between + p.within)
	return place{p.mu + math.Max(-reach, math.Min(reach, step[byMu])), p.between * clip(step[byLogBetween]), p.within * clip(step[byLogWithin])}
}

// newton solves (-second + damping·scale) step = first for the free parameters by Cholesky's method and foresees the gain. It
// fails when the matrix is not positive definite.
func (s surface) newton(j *jet, damping float64) (step [parameters]float64, gain float64, ok bool) {
	n := len(s.free)
	var l [parameters][parameters]float64
	var y [parameters]float64
	for i := range n {
		for k := range i + 1 {
			a, b := s.free[k], s.free[i]
			v := -j.second[a][b]
			if i == k {
				v += damping * (1 + math.Abs(v))
			}
			for q := range k {
				v -= l[i][q] * l[k][q]
			}
			if i > k {
				l[i][k] = v / l[k][k]
				continue
			}
			if !(v > 0) {
				return step, 0, false
			}
			l[i][i] = math.Sqrt(v)
		}
		v := j.first[s.free[i]]
		for q := range i {
			v -= l[i][q] * y[q]
		}
		y[i] = v / l[i][i]
		gain += 0.5 * y[i] * y[i]
	}
	for i := n - 1; i >= 0; i-- {
		v := y[i]
		for q := i + 1; q < n; q++ {
			v -= l[q][i] * step[s.free[q]]
		}
		step[s.free[i]] = v / l[i][i]
	}
	return step, gain, true
}
