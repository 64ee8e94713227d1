package posterior

import "math"

// family says how the marginal of one quantity is found: lower and upper are the curves below and above the summit, the same
// unless the quantity needs two; outer and inner are the shapes of the grids and width the standard deviation of the quantity
// by the normal density that fits at the summit.
type family struct {
	lower, upper curve
	outer, inner shape
	// step is the spacing of the first grid, in widths.
	width, step float64
	// wary says that the lines may have more than one top.
	wary bool
}

const (
	// gridStretch is the least stretch of every grid; wideStretch is for tails as slow as the square of sigma.
	gridStretch = 0.01
	wideStretch = 0.05
	// lightTail is the number of detected readings from which sigma goes so little up that its square keeps its digits: with it the
	// density falls to outerCut before sigma is 40 times its median.
	lightTail = 8
	// leastFreedom is the least number of degrees of freedom for which the shape of a tail is made.
	leastFreedom = 0.4
)

// fashion is what was found by trial over random groups, half of the readings censored, to need the fewest stations: how much of the
// growth of a quantity with ln sigma goes into the lean of its grid, what the width is multiplied with, and the spacing. From about 15
// readings on, a marginal then comes out smooth on its first grid. It changes the work, not the answer.
type fashion struct{ lean, width, step float64 }

// ridge describes the density about its summit: noise is the standard deviation of mu at given lambda, drift the slope of the
// mean of mu by lambda, and spread the standard deviation of lambda.
type ridge struct{ noise, drift, spread, sigma float64 }

func (s *summit) ridge() ridge {
	drift := s.vml / s.vll
	return ridge{math.Sqrt(s.vmm - s.vml*drift), drift, math.Sqrt(s.vll), math.Exp(s.lambda)}
}

// quantity describes one about the summit: its slope and its second slope by lambda along the ridge, the noise that mu adds to it,
// and whether that noise grows with sigma.
type quantity struct {
	slope, bend, noise float64
	growing            bool
}

// width is the standard deviation of the quantity and share the part of its variance that comes from lambda.
func (r *ridge) width(q quantity) (width, share float64) {
	fixed, free := q.noise*q.noise, q.slope*q.slope*r.spread*r.spread
	return math.Sqrt(fixed + free), free / (fixed + free)
}

// outer is the shape of a grid for the quantity: the skewness, to the first order, and the tail are those of
//
//	slope (exp(bend/slope · lambda) - 1) + noise, lambda as in a chi distribution.
func (r *ridge) outer(q quantity, lean float64) shape {
	w, share := r.width(q)
	g2 := r.spread * r.spread
	freedom := max(0.5/g2-1, leastFreedom)
	third := g2 * g2 * q.slope * q.slope * (2*q.slope + 3*q.bend)
	rate := q.bend / q.slope * r.spread
	tail := share * rate * rate
	if q.slope == 0 {
		tail = 0
	}
	if q.growing {
		third += 6 * q.noise * q.noise * q.slope * g2
		tail += (1 - share) / freedom
	}
	s := shape{stretch: gridStretch}
	if !(tail > 1e-8) {
		return s
	}
	s.reach = 1 / math.Sqrt(tail)
	s.lean = math.Asinh(lean * q.bend / (q.noise * math.Sqrt(freedom)))
	s.bow = bowPower * (third/(3*w*w*w) - math.Tanh(s.lean)/s.reach)
	s.bow = max(-r.spread, min(r.spread, s.bow))
	if math.Abs(s.bow) < 1e-3 {
		s.bow = 0
	}
	return s
}

// percentile is the family of mu + z sigma.
func (f *density) percentile(s *summit, z float64) family {
	r := s.ridge()
	slope := r.drift + z*r.sigma
	c := &percentileCurve{z: z}
	return f.family(c, c, &r, quantity{slope, slope, r.noise, true}, fashion{0.58, 0.95, 0.43})
}

// score is the family of (q - mu)/sigma.
func (f *density) score(s *summit, q float64) family {
	r := s.ridge()
	slope := -((q - s.mu) + r.drift) / r.sigma
	c := &scoreCurve{q: q}
	return f.family(c, c, &r, quantity{slope, -slope, r.noise / r.sigma, false}, fashion{1, 1, 0.42})
}

// mean is the family of mu + sigma²/2.
func (f *density) mean(s *summit) family {
	r := s.ridge()
	v := r.sigma * r.sigma
	slope := r.drift + v
	lower := &meanCurve{}
	var upper curve = lower
	if !f.prior.flat && !(f.prior.reference && f.d.Exact >= lightTail) {
		upper = &highMeanCurve{base: s.mu}
	}
	a := f.family(lower, upper, &r, quantity{slope, slope + v, r.noise, true}, fashion{0.15, 0.85, 0.38})
	if upper != curve(lower) {
		a.inner.bow = 0
	}
	return a
}

// spread is the family of lambda.
func (f *density) spread(s *summit) family {
	r := s.ridge()
	c := &spreadCurve{errorVariance: f.errorVariance}
	a := family{lower: c, upper: c, width: r.spread, inner: shape{stretch: gridStretch}, step: 0.45}
	a.outer = f.tails(shape{stretch: gridStretch, bow: r.spread})
	return a
}

func (f *density) family(lower, upper curve, r *ridge, q quantity, h fashion) family {
	w, _ := r.width(q)
	return family{
		lower: lower, upper: upper,
		outer: f.tails(r.outer(q, h.lean)), inner: f.tails(shape{stretch: gridStretch, bow: 0.75 * r.spread}), width: w * h.width, step: h.step,
	}
}

// tails makes a shape fit for densities in which sigma can go to 0 more slowly than in a chi distribution.
func (f *density) tails(s shape) shape {
	if f.errorVariance > 0 || !f.prior.reference && f.d.Squares == 0 {
		s.bow, s.stretch = 0, wideStretch
	}
	return s
}
