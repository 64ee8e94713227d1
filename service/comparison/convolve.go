package comparison

import (
	"math"

	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
)

// law is the posterior of a quantity with its quantiles at even normal scores, made when first asked for.
type law struct {
	posterior.Law

	// grids are the quantiles by level, each with half the spacing of the one before.
	grids [finest + 1][]float64
	// width is the distance between the quantiles at the normal scores -1.5 and 1.5.
	width float64
}

const (
	// reach is the largest normal score of a node: the tails left out weigh 2e-9.
	reach = 6
	// sureReach is that of a node that must be found.
	sureReach = 4.5
	// firstStep is the spacing of the first grid.
	firstStep = 0.375
	// finest is the last level.
	finest = 4
	// leastFraction is the difference of two fractions below which nobody asks for its digits.
	leastFraction = 1e-9
	// agreed is the difference between a grid and every second node of it from which the grid is taken as good: for a normal integrand
	// it falls to its fourth power with every halving.
	agreed = 1e-5
)

// step is the spacing of a level.
func step(level int) float64 { return firstStep / float64(int(1)<<level) }

// nodes are quantiles at the normal scores -reach, ..., reach. In the far tails, whose weight is below 1e-5, one that cannot be found is
// taken as that of the next node inward. It is nil when one further in cannot be found.
func (l *law) nodes(level int) []float64 {
	if l.grids[level] != nil {
		return l.grids[level]
	}
	var before []float64
	if level > 0 {
		before = l.nodes(level - 1)
	}
	h := step(level)
	half := int(math.Round(reach / h))
	out := make([]float64, 2*half+1)
	for k := range half + 1 {
		for _, i := range [2]int{half - k, half + k} {
			if k%2 == 0 && before != nil {
				out[i] = before[i/2]
				continue
			}
			v, err := l.Quantile(numeric.NormalCDF(float64(i-half) * h))
			if err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
				out[i] = v
				continue
			}
			if float64(k)*h < sureReach {
				return nil
			}
			out[i] = out[half+(i-half)/k*(k-1)]
		}
	}
	middle := int(1.5 / h)
	l.width = out[half+middle] - out[half-middle]
	l.grids[level] = out
	return out
}

// difference is the law of B - A for independent A and B,
//
//	P(B - A <= d) = E F_B(A + d) = E (1 - F_A(B - d)),
//
// an expectation over the normal score of one of them by the trapezoid rule, which converges geometrically. How soon hangs on which
// of the two it runs over: the narrower, and for a d off the middle the one that d moves towards the tail of the other.
type difference struct {
	a, b *law
	// center is the difference of the medians.
	center float64
	// bounded says that A and B are fractions.
	bounded bool
}

// newDifference is nil when a law is missing or cannot be tabled.
func newDifference(a, b *law) *difference {
	if a == nil || b == nil {
		return nil
	}
	na, nb := a.nodes(0), b.nodes(0)
	if na == nil || nb == nil {
		return nil
	}
	return &difference{a: a, b: b, center: nb[len(nb)/2] - na[len(na)/2]}
}

// sum is an expectation and its derivative, with the difference to the sum over every second node.
type sum struct{ below, density, off float64 }

// at is P(B - A <= d) and its derivative.
func (s *difference) at(d float64) sum {
	overB := s.chosen(d)
	best := sum{off: math.Inf(1)}
	for level := range finest + 1 {
		for _, over := range [2]bool{overB, !overB} {
			if t := s.over(over, level, d); t.off < best.off {
				best = t
			}
			if best.off <= agreed {
				return best
			}
		}
	}
	return best
}

// chosen says whether to begin with the sum over B.
func (s *difference) chosen(d float64) bool {
	const apart = 3
	switch {
	case s.bounded:
		return d < 0
	case s.a.width > apart*s.b.width:
		return true
	case s.b.width > apart*s.a.width:
		return false
	}
	return d < s.center
}

// over is the sum over one of the two.
func (s *difference) over(b bool, level int, d float64) sum {
	own, other, sign := s.a, s.b, 1.0
	if b {
		own, other, sign = s.b, s.a, -1
	}
	nodes, h := own.nodes(level), step(level)
	if nodes == nil {
		return sum{off: math.Inf(1)}
	}
	half := len(nodes) / 2
	var all, even, total, totalEven, density float64
	for i, q := range nodes {
		w := numeric.NormalDensity(float64(i-half) * h)
		p, slope := other.At(q + sign*d)
		all += w * p
		density += w * slope
		total += w
		if (i-half)%2 == 0 {
			even += w * p
			totalEven += w
		}
	}
	t := sum{all / total, density / total, math.Abs(all/total - even/totalEven)}
	if b {
		// P(B - A <= d) = P(A >= B - d).
		t.below = 1 - t.below
	}
	return t
}

// below is P(B - A <= d), 0 to 1.
func (s *difference) below(d float64) float64 { return min(max(s.at(d).below, 0), 1) }

// quantile is the d with P(B - A <= d) = p; NaN when there is none. It is found on the scale of normal scores, on which the law is
// nearly straight.
func (s *difference) quantile(p float64) float64 {
	target := numeric.NormalQuantile(p)
	guess, scale := s.guess(target)
	if s.bounded && !(math.Abs(guess) > leastFraction || scale > leastFraction) {
		return guess
	}
	// The search ends at a relative step of 1e-11, so that its zero is kept away from the root.
	const away = 64
	t, err := numeric.RootNear(func(t float64) (float64, float64) {
		v := s.at((t-away)*scale + guess)
		// Off the end of the law the score is still a number, so that the search finds its way back.
		x := numeric.NormalQuantile(min(max(v.below, 1e-12), 1-1e-12))
		return x - target, v.density * scale / numeric.NormalDensity(x)
	}, away, 0.25, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return (t-away)*scale + guess
}

// guess is near the quantile with a normal score: the medians' difference plus the root of the squared distances of the two
// quantiles from them.
func (s *difference) guess(score float64) (d, scale float64) {
	a, b := s.a.nodes(0), s.b.nodes(0)
	half := len(a) / 2
	quantile := func(nodes []float64, score float64) float64 {
		x := min(max(score/firstStep, float64(-half)), float64(half-1))
		k := math.Floor(x)
		lower := nodes[half+int(k)]
		return lower + (x-k)*(nodes[half+int(k)+1]-lower)
	}
	up := math.Hypot(quantile(b, score)-b[half], quantile(a, -score)-a[half])
	return s.center + math.Copysign(up, score), math.Hypot(s.a.width, s.b.width) / 3
}

// bounds are the limits of the difference about an estimate.
func (s *difference) bounds(estimate, confidence float64) limit.Bounds {
	return limit.Bounds{Estimate: estimate, Lower: s.quantile(1 - confidence), Upper: s.quantile(confidence)}
}

// ratio is that of which the difference is the logarithm.
func (s *difference) ratio(estimate, confidence float64) limit.Bounds {
	return exponential(s.bounds(estimate, confidence))
}

// tail is the law of an exceedance fraction, the upper tail of a normal score.
type tail struct{ score posterior.Law }

// At is that of fit.Law.
func (t tail) At(v float64) (below, density float64) {
	switch {
	case v <= 0:
		return 0, 0
	case v >= 1:
		return 1, 0
	}
	z := numeric.NormalQuantileUpper(v)
	under, byScore := t.score.At(z)
	return 1 - under, byScore / numeric.NormalDensity(z)
}

// Quantile is that of fit.Law.
func (t tail) Quantile(p float64) (float64, error) {
	z, err := t.score.Quantile(1 - p)
	return numeric.NormalSurvival(z), err
}
