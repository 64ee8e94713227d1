package posterior

import "math"

// shape is an increasing function with value 0 and slope 1 at 0. It turns an even grid into the places of a trapezoid rule so
// that the integrand becomes nearly a normal density in x: the rule then converges like exp(-2 pi²/h²) in the spacing h.
type shape struct {
	// stretch a turns x into x + a sinh x first, under which exponential tails fall off double exponentially too.
	stretch float64
	// bow, when not 0, is for skew: it is the standard deviation g of ln sigma in a chi distribution, of which sigma^(-2/3) is nearly
	// normal (Wilson and Hilferty 1931, from memory); see bowed. A negative one bows the other way.
	bow float64
	// reach, when not 0, is for tails like those of Student's t: R (sinh(lean + y/R) - sinh lean)/cosh lean. The larger lean, the
	// more it is an exponential.
	reach, lean float64
}

const (
	// The bowed shape is -(3/2)/g ln of softplus, which is linear, so that sigma^(-2/3) is, down to a third of its value, and then
	// exponential, so that sigma is. bowStart is where softplus is 10/3, bowSlope its slope there.
	bowPower  = 1.5
	bowScale  = 10.0 / 3
	bowStart  = 3.2970074729664267 // ln(exp(bowScale) - 1)
	bowSlope  = 0.9643260066527476 // 1 - exp(-bowScale)
	bowLinear = 36
)

// at returns the place for x and its slope by x.
func (s *shape) at(x float64) (place, slope float64) {
	e := math.Exp(x)
	y, dy := x+s.stretch*0.5*(e-1/e), 1+s.stretch*0.5*(e+1/e)
	if s.bow != 0 {
		p, d := bowed(s.bow, y)
		y, dy = p, d*dy
	}
	if s.reach != 0 {
		u := math.Exp(y / s.reach)
		v := math.Exp(s.lean)
		up, down := v*u, 1/(v*u)
		c := 1 / (v + 1/v)
		y, dy = s.reach*c*((up-down)-(v-1/v)), c*(up+down)*dy
	}
	return y, dy
}

// bowed is the shape for skew and its slope.
func bowed(g, y float64) (place, slope float64) {
	v := g * bowScale / (bowPower * bowSlope)
	tau := bowStart - v*y
	f, d := tau, 1.0
	if tau < bowLinear {
		e := math.Exp(tau)
		f, d = math.Log(1+e), e/(1+e)
		if e < 1e-4 {
			f = e * (1 - e*(0.5-e*(1.0/3-e*0.25)))
		}
	}
	return -bowPower / g * math.Log(f/bowScale), bowPower / g * v * d / f
}

// invert returns the x of a place.
func (s *shape) invert(y float64) float64 {
	if s.reach != 0 {
		y = s.reach * (math.Asinh(y*math.Cosh(s.lean)/s.reach+math.Sinh(s.lean)) - s.lean)
	}
	if s.bow != 0 {
		f := bowScale * math.Exp(-y*s.bow/bowPower)
		tau := f
		if f < bowLinear {
			tau = math.Log(math.Expm1(f))
		}
		y = (bowStart - tau) * bowPower * bowSlope / (s.bow * bowScale)
	}
	return s.unstretch(y)
}

// unstretch solves x + a sinh x = y. The left side is convex for x > 0 and odd, so Newton's method from above converges from
// anywhere.
func (s *shape) unstretch(y float64) float64 {
	if s.stretch == 0 {
		return y
	}
	target := math.Abs(y)
	x := min(target, math.Asinh(target/s.stretch))
	for range 50 {
		sinh, cosh := math.Sinh(x), math.Cosh(x)
		step := (x + s.stretch*sinh - target) / (1 + s.stretch*cosh)
		x -= step
		if math.Abs(step) <= 1e-15*x {
			break
		}
	}
	return math.Copysign(x, y)
}

// warp puts a shape at a center with a width, between edges where there are any. Towards an edge x goes on for ever, while the
// place comes to it double exponentially, as in the tanh-sinh rule (Takahasi and Mori 1974, from memory); away from the edges, and
// without them, it is the shape itself.
type warp struct {
	shape
	center, width float64
	// lower and upper are the edges, in widths from the center; infinite when there is none.
	lower, upper float64
}

func (w *warp) free() bool { return math.IsInf(w.lower, -1) && math.IsInf(w.upper, 1) }

// at returns the place for x and its slope by x.
func (w *warp) at(x float64) (place, slope float64) {
	if w.free() {
		y, dy := w.shape.at(x)
		return w.center + w.width*y, w.width * dy
	}
	if x < w.lower-warpEnd || x > w.upper+warpEnd {
		return w.center + w.width*min(max(x, w.lower), w.upper), 0
	}
	low, high := math.Exp(w.lower-x), math.Exp(x-w.upper)
	y, dy := x-low+high, 1+low+high
	place, slope = ramp(y, w.lower, w.upper)
	place = min(max(place, w.lower), w.upper)
	return w.center + w.width*place, w.width * slope * dy
}

// rampFar is the distance of two edges from which they no longer feel each other.
const rampFar = 40

// ramp is y between the edges and comes to them exponentially, with its slope.
func ramp(y, lower, upper float64) (place, slope float64) {
	if upper-lower < rampFar {
		// The difference of two softplus functions, without cancellation when the edges are close.
		lift, f := math.Expm1(upper-lower), math.Exp(upper-y)
		return lower + math.Log1p(lift/(1+f)), lift * f / ((1 + f) * (1 + f + lift))
	}
	place, slope = y, 1
	if !math.IsInf(lower, -1) {
		s, d := softplus(y - lower)
		place, slope = lower+s, d
	}
	if !math.IsInf(upper, 1) {
		s, d := softplus(y - upper)
		place, slope = place-s, slope-d
	}
	return place, slope
}

// softplus is ln(1 + e^y) and its slope.
func softplus(y float64) (value, slope float64) {
	if y > 40 {
		return y, 1
	}
	e := math.Exp(y)
	return math.Log1p(e), e / (1 + e)
}

// invert returns the x of a place; it is infinite at the edges and beyond.
func (w *warp) invert(place float64) float64 {
	t := (place - w.center) / w.width
	switch {
	case w.free():
		return w.shape.invert(t)
	case t <= w.lower:
		return math.Inf(-1)
	case t >= w.upper:
		return math.Inf(1)
	}
	return w.unramp(t)
}

// unramp solves for the x between edges by bisection and Newton's method.
func (w *warp) unramp(t float64) float64 {
	lo, hi := max(t, w.lower-warpEnd), min(t, w.upper+warpEnd)
	lo, hi = min(lo, t)-warpEnd, max(hi, t)+warpEnd
	x := t
	for range 100 {
		place, slope := w.at(x)
		miss := (place-w.center)/w.width - t
		if miss > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - miss*w.width/slope
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		if math.Abs(next-x) <= 1e-14*(1+math.Abs(x)) {
			return next
		}
		x = next
	}
	return x
}

// warpEnd is how far beyond an edge, in x, the slope has fallen under 1e-20.
const warpEnd = 4

// grid is a shape on an even grid of x, the part that all lines share. It grows as needed.
type grid struct {
	shape shape
	step  float64
	// nodes are the places for x = k step, 0 <= k + half < len(nodes).
	nodes []gridNode
	half  int
}

type gridNode struct{ place, slope float64 }

func newGrid(s shape, step float64, half int) *grid {
	g := &grid{shape: s, step: step, half: half, nodes: make([]gridNode, 2*half+1)}
	for i := range g.nodes {
		g.nodes[i].place, g.nodes[i].slope = s.at(step * float64(i-half))
	}
	return g
}

// node returns the k-th node.
func (g *grid) node(k int) *gridNode {
	i := k + g.half
	if uint(i) >= uint(len(g.nodes)) {
		*g = *newGrid(g.shape, g.step, max(k, -k)+gridMore)
		i = k + g.half
	}
	return &g.nodes[i]
}

const (
	// gridReach is the largest x at first and gridMore by how many nodes a grid grows beyond what is needed.
	gridReach = 7.3
	gridMore  = 4
)
