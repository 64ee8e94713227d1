package calibrated

import (
	"errors"
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
)

// adjustment turns r into r*. With U the slopes of the log-likelihood l and a hat and a tilde for the estimate and for the
// constrained maximum of the hypothesis psi = value,
//
//	u = [S⁻¹ q]_psi |ĵ|^½ |i|⁻¹ |S| |j̃|^-½,   S = cov(Û, Ũ),   q = cov(Û, l̂ - l̃),   i = cov(Û, Û),
//
// where covariances are over samples reported in the same way whose mu and sigma are the estimates, ĵ is the observed
// information and j̃ that along the hypothesis. It holds for any parameters; here they are Burridge's alpha and beta. S enters by
// its adjugate, so that a singular S does no harm.
type adjustment struct {
	expectation
	// factor is |ĵ|^½ |i|⁻¹.
	factor float64
}

// leastInformation is the |i| under which nothing is learned: two readings with a value have an |i| of 8.
const leastInformation = 1e-9

// newAdjustment says no when samples reported in the same way would tell nothing of mu or sigma.
func newAdjustment(e expectation, peak likelihood.Surface) (adjustment, bool) {
	i := e.covariance(0, 1)
	expected := i.aa*i.bb - i.ab*i.ba
	observed := peak.AA*peak.BB - peak.AB*peak.AB
	if !(expected > leastInformation) || !(observed > 0) {
		return adjustment{}, false
	}
	return adjustment{e, math.Sqrt(observed) / expected}, true
}

// covariance holds S, the first letter of an entry that of Û and the second that of Ũ, and q.
type covariance struct{ aa, ab, ba, bb, qa, qb float64 }

// covariance is that of the slopes at the estimate with the slopes at (alpha, beta), and with the log-likelihood ratio. Values of
// the slopes have the mean 0 at the estimate, so products are enough.
func (e *expectation) covariance(alpha, beta float64) covariance {
	m := &e.powers
	// A reading y has the slopes y, 1 - y² at the estimate and t, 1/beta - t y with t = beta y - alpha at the other place.
	c := covariance{
		aa: beta*m[2] - alpha*m[1],
		ab: m[1]/beta + alpha*m[2] - beta*m[3],
		ba: beta*(m[1]-m[3]) - alpha*(m[0]-m[2]),
		bb: (m[0]-m[2])/beta + alpha*(m[1]-m[3]) - beta*(m[2]-m[4]),
	}
	// Their difference in log-likelihood is fixed + linear y + square y².
	fixed, linear, square := 0.5*alpha*alpha-math.Log(beta), -alpha*beta, 0.5*(beta-1)*(beta+1)
	c.qa = fixed*m[1] + linear*m[2] + square*m[3]
	c.qb = fixed*(m[0]-m[2]) + linear*(m[1]-m[3]) + square*(m[2]-m[4])
	for i := range e.ranges {
		r := &e.ranges[i]
		s := rangeTerm(r.lower, r.upper, alpha, beta)
		a, b := r.readings*r.a, r.readings*r.b
		c.aa += a * s.A
		c.ab += a * s.B
		c.ba += b * s.A
		c.bb += b * s.B
		c.qa += a * (r.value - s.Value)
		c.qb += b * (r.value - s.Value)
	}
	return c
}

// adjusted is r* = r + ln(u/r)/r, for r not near 0. So far out that u is not a number greater than 0, r decides alone.
func (a *adjustment) adjusted(t tested) float64 {
	c := a.covariance(t.alpha, t.beta)
	u := (t.byAlpha*(c.bb*c.qa-c.ab*c.qb) + t.byBeta*(c.aa*c.qb-c.ba*c.qa)) * a.factor / math.Sqrt(t.bend)
	if ratio := math.Abs(u / t.root); ratio > 0 && ratio <= math.MaxFloat64 {
		return t.root + math.Log(ratio)/t.root
	}
	return t.root
}

const (
	// rootGap is the |r| under which r* is interpolated, because u/r would be a quotient of two small numbers. At the gap r* is good to
	// 1e-9, and the chord across it to 1e-5.
	rootGap = 0.02
	// rootStep is the step of r in the walk to the target and rootEnd where it gives up.
	rootStep, rootEnd = 0.5, 40
	// rootSettled is how close r* comes to its target, or r to where it does should rounding stand in the way.
	rootSettled = 1e-8
	// rootRounds bounds the search inside one step of the walk; most take 4.
	rootRounds = 60
	// rootLeast is the least |r| that is turned into a value of the quantity.
	rootLeast = 1e-9
)

var errNoRoot = errors.New("calibrated: a quantile of the posterior was not found")

// climber follows r* along a hypothesis. low and high are r* on either side of the gap.
type climber struct {
	adjustment *adjustment
	hypothesis hypothesis
	low, high  float64
}

func (a *adjustment) climber(f hypothesis) (climber, error) {
	_, low, err := f.at(-rootGap)
	if err != nil {
		return climber{}, err
	}
	_, high, err := f.at(rootGap)
	return climber{a, f, a.adjusted(low), a.adjusted(high)}, err
}

// bridge is r* for |r| < rootGap.
func (c *climber) bridge(root float64) float64 {
	return c.low + (c.high-c.low)*(root+rootGap)/(2*rootGap)
}

// rootOf is r* for the hypothesis that a quantity has the value.
func (a *adjustment) rootOf(f hypothesis, value float64) float64 {
	t := f.tested(value)
	if math.Abs(t.root) >= rootGap {
		return a.adjusted(t)
	}
	c, err := a.climber(f)
	if err != nil {
		return math.NaN()
	}
	return c.bridge(t.root)
}

// solve returns the value of the quantity at which Phi(r*) = p.
//
// It walks from r = 0 in fixed steps to the first that passes the target. r* rises with r, except that with a single detected
// reading it can fall by some 0.01 on a plateau; taking the first passage keeps limits monotone in the confidence even then.
func (a *adjustment) solve(f hypothesis, p float64) (float64, error) {
	target := numeric.NormalQuantile(p)
	c, err := a.climber(f)
	if err != nil {
		return 0, unsolved(err)
	}
	if target > c.low && target < c.high {
		root := 2*rootGap*(target-c.low)/(c.high-c.low) - rootGap
		value, _, err := f.at(math.Copysign(max(math.Abs(root), rootLeast), root))
		return value, unsolved(err)
	}
	from, miss := rootGap, c.high-target
	if target <= c.low {
		from, miss = -rootGap, c.low-target
	}
	value, err := c.walk(from, miss, target)
	return value, unsolved(err)
}

// walk goes outwards from the end of the gap, where r* - target is miss.
func (c *climber) walk(from, miss, target float64) (float64, error) {
	step := math.Copysign(rootStep, from)
	for math.Abs(from) < rootEnd {
		to := from + step
		value, t, err := c.hypothesis.at(to)
		if err != nil {
			return 0, err
		}
		passed := c.adjustment.adjusted(t) - target
		if math.Abs(passed) < rootSettled {
			return value, nil
		}
		if passed*step > 0 {
			return c.between(from, miss, to, passed, target)
		}
		from, miss = to, passed
	}
	return 0, errNoRoot
}

// between finds the target between two r by the Illinois variant of the regula falsi.
func (c *climber) between(from, miss, to, passed, target float64) (float64, error) {
	for range rootRounds {
		root := to - passed*(to-from)/(passed-miss)
		value, t, err := c.hypothesis.at(root)
		if err != nil {
			return 0, err
		}
		at := c.adjustment.adjusted(t) - target
		if math.Abs(at) < rootSettled || math.Abs(to-from) < rootSettled {
			return value, nil
		}
		if (at > 0) != (passed > 0) {
			from, miss = to, passed
		} else {
			miss *= 0.5
		}
		to, passed = root, at
	}
	return 0, errNoRoot
}

// unsolved keeps the text of a solver from the caller.
func unsolved(err error) error {
	if err == nil {
		return nil
	}
	return fault.Wrap(err, "no solution for a calibrated limit of the fitted lognormal")
}
