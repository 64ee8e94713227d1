package numeric

import "math"

// The grid of the tail integral. Its constants were chosen so that the aliasing
// error stays below 1e-13 of the result over nu 1 to 1e6, |delta| up to 2000 and
// tails down to 1e-100; TestTailGrid measures it against a grid 2.4 times finer.
const (
	// warpGain and warpRate shape the map from the grid variable x to u = ln s,
	//
	//	u = center + x + warpGain (1 - e^{-warpRate x}).
	//
	// To the left u falls exponentially, which turns the slow e^{nu u} of few
	// degrees of freedom into a doubly exponential decay; around the center the
	// map cancels the skewness of the chi density (u = X - X²/3 + ... with X = 2x,
	// the cube-root transformation of Wilson and Hilferty).
	warpGain = 3.0 / 8
	warpRate = 8.0 / 3

	// spacingStrip is the spacing in x allowed by the nearest singularity of the
	// map, spacingNormal the spacing in units of the standard deviation for a
	// normal peak.
	spacingStrip  = 0.1
	spacingNormal = 0.31

	// edgeRatio is how much narrower than the chi density the step of Phi has to
	// be for the nodes to be packed around it with a hyperbolic sine; edgeSpacing
	// is the spacing then.
	edgeRatio   = 6
	edgeSpacing = 0.13
	edgeReach   = 0.75

	// tailCut is the size of a term, relative to the sum, below which the rest of
	// a side is dropped. The integrand is unimodal.
	tailCut = 1e-16
	// tailNodes bounds the nodes on one side; about 150 are the most ever used.
	tailNodes = 600

	// tailAgreement is how far the sums over the even and the odd nodes may
	// differ. The spacings above put it at 1e-5 or below, so a larger difference
	// means a shape that was not foreseen, and the spacing is halved.
	tailAgreement = 1e-4
	tailHalvings  = 4
)

// tailMoments are expectations over S at a = t S - delta. The last four give the
// derivatives of P with respect to t (dp1, -ap2) and to delta (-dp0, -ap0).
type tailMoments struct {
	p   float64 // E Phi(a) = P(T <= t)
	dp0 float64 // E phi(a)
	dp1 float64 // E S phi(a)
	ap0 float64 // E a phi(a)
	ap2 float64 // E a S² phi(a)
}

func (m *tailMoments) scale(f float64) {
	m.p *= f
	m.dp0 *= f
	m.dp1 *= f
	m.ap0 *= f
	m.ap2 *= f
}

// tailIntegral evaluates P(T <= t) = ∫ f(u) Phi(t e^u - delta) du by the
// trapezoid rule in a warped u, which converges geometrically for an analytic
// integrand that decays fast on both sides.
type tailIntegral struct {
	nu, t, delta float64
	excess       float64 // t - delta, exact when they are close
	center       float64 // of the grid, in u
	peak         float64 // g(center), taken out of the exponent
	spacing      float64
	edge         float64 // scale of the hyperbolic sine, 0 when unused
	slopes       bool    // whether the moments other than p are wanted
	sum          tailMoments
}

// tailProbability returns P(T <= t) of the noncentral t, meant for the smaller
// tail: the relative error is below 1e-12 for nu up to 1e6, |delta| up to 2000
// and results down to 1e-100, and grows slowly beyond; below about 1e-290 the
// result loses digits to underflow.
func tailProbability(nu, t, delta float64) float64 {
	return tailSums(nu, t, delta, false).p
}

// tailSums returns P(T <= t) and, if wanted, the other moments.
func tailSums(nu, t, delta float64, slopes bool) tailMoments {
	if math.IsInf(t, 0) {
		return tailMoments{p: 0.5 + math.Copysign(0.5, t)}
	}
	q := tailIntegral{nu: nu, t: t, delta: delta, excess: t - delta, slopes: slopes}
	q.place()
	return q.integrate()
}

// integrate sums over the grid that place has set.
func (q *tailIntegral) integrate() tailMoments {
	h := q.spacing
	even, odd := q.march(0, h, 0, 0)
	odd, even = q.march(-h, -h, odd, even)
	for i := 0; i < tailHalvings && math.Abs(even-odd) > tailAgreement*(even+odd); i++ {
		even += odd
		first, second := q.march(0.5*h, h, 0, 0)
		first, second = q.march(-0.5*h, -h, first, second)
		odd = first + second
		h *= 0.5
	}
	q.sum.p = even + odd
	q.sum.scale(invSqrt2Pi * h * math.Sqrt(q.nu/math.Pi) * math.Exp(q.nu*q.peak-stirlingError(0.5*q.nu)))
	return q.sum
}

// place finds the mode of the integrand and sets the grid from its curvature.
func (q *tailIntegral) place() {
	s := q.mode()
	a := q.t*s - q.delta
	_, step := stepShape(a)
	if a > 0 {
		// The mode lies on the plateau beside the step of Phi; what has to be
		// resolved is the curvature of ln Phi on the step itself.
		step = math.Max(step, 2/math.Pi)
	}
	chi := q.nu * (1 + s*s)
	step *= q.t * q.t * s * s
	if a > 0 && step > (edgeRatio*edgeRatio-1)*chi {
		s = q.delta / q.t
		q.edge, q.spacing = 1/math.Abs(q.delta), edgeSpacing
	} else {
		// 1/h⁴ = 1/strip⁴ + 1/(normal·width)⁴ follows the smaller of the two.
		c := (chi + step) / (spacingNormal * spacingNormal)
		const strip = 1 / (spacingStrip * spacingStrip)
		q.spacing = 1 / math.Sqrt(math.Sqrt(c*c+strip*strip))
	}
	q.center = math.Log(s)
	_, _, q.peak = chiPoint(q.center)
}

// mode returns the s at which s f(s) is largest, to about a tenth of its width.
func (q *tailIntegral) mode() float64 {
	nu, t, delta := q.nu, q.t, q.delta
	s := 1.0
	if q.excess < 0 {
		// Where Phi(a) is close to exp(-a²/2) the mode solves
		// (nu+t²) s² - t delta s - nu = 0.
		b := t * delta
		r := math.Hypot(b, 2*math.Sqrt(nu*(nu+t*t)))
		if b >= 0 {
			s = (b + r) / (2 * (nu + t*t))
		} else {
			s = 2 * nu / (r - b)
		}
	}
	for range 8 {
		a := t*s - delta
		slope, bend := stepShape(a)
		rise := nu - nu*s*s + t*s*slope
		bend = nu + nu*s*s + t*t*s*s*bend
		du := math.Max(-1, math.Min(1, rise/bend))
		s *= math.Exp(du)
		if du*du*bend < 0.01 {
			break
		}
	}
	return s
}

// march adds the terms at first, first+step, ... until they no longer count,
// alternately to two sums, the first term to the first sum.
func (q *tailIntegral) march(first, step, sum, other float64) (float64, float64) {
	if q.edge > 0 {
		return q.marchEdge(first, step, sum, other)
	}
	// fall is 1 - e^{-warpRate x}, updated so that it stays exact near x = 0:
	// nodes that are off the grid by the rounding of 1 would show for nu of a
	// million.
	fall, ratio := -math.Expm1(-warpRate*first), -math.Expm1(-warpRate*step)
	for i := range tailNodes {
		f := q.term(first+float64(i)*step+warpGain*fall, 2-fall)
		fall += ratio * (1 - fall)
		sum, other = other, sum+f
		if f <= tailCut*(sum+other) && i > 2 {
			if i&1 == 0 {
				sum, other = other, sum
			}
			break
		}
	}
	return sum, other
}

// marchEdge is march on nodes packed around the center by
//
//	x = edgeReach asinh(edge/edgeReach · sinh(y)),
//
// whose step in x grows from edge at the center to edgeReach far from it.
func (q *tailIntegral) marchEdge(first, step, sum, other float64) (float64, float64) {
	scale := q.edge / edgeReach
	for i := range tailNodes {
		e := expWeight(math.Abs(first + float64(i)*step))
		sinh, cosh := 0.5*scale*(e-1/e), 0.5*scale*(e+1/e)
		root := math.Sqrt(1 + sinh*sinh)
		x := edgeReach * math.Log1p(sinh*(1+sinh/(1+root)))
		x = math.Copysign(x, step)
		fall := -math.Expm1(-warpRate * x)
		f := q.term(x+warpGain*fall, (2-fall)*edgeReach*cosh/root)
		sum, other = other, sum+f
		if f <= tailCut*(sum+other) && i > 2 {
			if i&1 == 0 {
				sum, other = other, sum
			}
			break
		}
	}
	return sum, other
}

// term is sqrt(2 pi) times the integrand at u = center + offset, times the
// derivative of u with respect to the grid variable.
func (q *tailIntegral) term(offset, derivative float64) float64 {
	u := q.center + offset
	s, excess, g := chiPoint(u)
	var a float64
	if math.Abs(u) < chiSeriesEnd {
		// t s - delta as (t-delta) + t (s-1): the error is that of the smaller
		// product, which matters for nu and delta in the thousands.
		a = q.excess + q.t*excess
	} else {
		a = math.FMA(q.t, s, -q.delta)
	}
	// d is the weight times sqrt(2 pi) phi(a), in one exponential; with the Mills
	// ratio it gives the weight times Phi(a) as well.
	e := q.nu * (g - q.peak)
	d := derivative * expWeight(e-0.5*a*a)
	if q.slopes {
		q.sum.dp0 += d
		q.sum.dp1 += d * s
		q.sum.ap0 += d * a
		q.sum.ap2 += d * a * s * s
	}
	if a <= 0 {
		return d * millsRatio(-a)
	}
	return derivative*expWeight(e)/invSqrt2Pi - d*millsRatio(a)
}
