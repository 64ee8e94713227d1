package numeric

import "math"

const (
	// tailSpacing and tailStretch fix the grid of the tail integral; see
	// tailProbability.
	tailSpacing = 0.2
	tailStretch = 0.1
	// tailNodes bounds the nodes on each side of the center for the first
	// spacing.
	tailNodes = 64
	// tailCut is the size of a term, relative to the sum, below which the rest of
	// that side is dropped.
	tailCut = 1e-17
	// tailAgreement is how close the sums for a spacing and for twice that
	// spacing must be. The error of a trapezoid sum of an analytic integrand falls
	// at least quadratically when the spacing is halved, so 1e-7 between the two
	// means 1e-14 in the finer one.
	tailAgreement = 1e-8
	// tailHalvings bounds the refinements.
	tailHalvings = 5
)

// tailIntegral is the integrand of P(T <= t) in u = ln s,
//
//	f(u) = K exp(nu g(u)) Phi(t e^u - delta),   g(u) = u - (e^{2u}-1)/2,
//	K    = sqrt(nu/pi) exp(-stirling(nu/2)),
//
// with what is needed to evaluate it repeatedly without loss.
type tailIntegral struct {
	nu, t, delta float64
	excess       float64 // t - delta, exact when they are close
	center       float64 // center of the grid in u
	width        float64 // width of the integrand in u at the center
	gc           float64 // g at the center: scales the weights
}

// tailSums are the sums over one grid: of f, and of the derivatives of f with
// respect to t and to -delta (for Newton steps).
type tailSums struct{ value, dt, ddelta float64 }

func (s *tailSums) add(o tailSums) {
	s.value += o.value
	s.dt += o.dt
	s.ddelta += o.ddelta
}

// tailProbability returns P(T <= t).
func tailProbability(nu, t, delta float64) float64 {
	return tailWithSlopes(nu, t, delta, false).value
}

// tailWithSlopes returns P(T <= t) and, if wanted, its derivatives with respect
// to t and -delta.
func tailWithSlopes(nu, t, delta float64, slopes bool) tailSums {
	if math.IsInf(t, 0) {
		return tailSums{value: 0.5 + math.Copysign(0.5, t)}
	}
	q := newTailIntegral(nu, t, delta)
	odd := q.sum(tailSpacing, 2*tailSpacing, slopes)
	even := q.sum(0, 2*tailSpacing, slopes)
	h := tailSpacing
	total := even
	total.add(odd)
	for range tailHalvings {
		if math.Abs(even.value-odd.value) <= tailAgreement*total.value {
			break
		}
		even = total
		odd = q.sum(0.5*h, h, slopes)
		total.add(odd)
		h *= 0.5
	}
	scale := h * q.width * math.Sqrt(nu/math.Pi) * math.Exp(nu*q.gc-stirlingError(0.5*nu))
	return tailSums{total.value * scale, total.dt * scale, total.ddelta * scale}
}

func newTailIntegral(nu, t, delta float64) tailIntegral {
	q := tailIntegral{nu: nu, t: t, delta: delta, excess: t - delta}
	s := q.mode()
	a := t*s - delta
	if a > 0.5 && t*t*s*s > 4*nu {
		// The edge of Phi is sharper than the chi density and the mode lies on the
		// plateau beside it: center the grid on the edge.
		s = delta / t
		a = 0
	}
	q.center = math.Log(s)
	q.gc = chiExponent(q.center)
	l := inverseMills(a)
	q.width = 1 / math.Sqrt(nu*(1+s*s)+t*t*s*s*l*(a+l))
	return q
}

// mode returns the s at which s f is largest, to about a tenth of its width.
func (q *tailIntegral) mode() float64 {
	nu, t, delta := q.nu, q.t, q.delta
	s := 1.0
	if q.excess < 0 {
		// Where Phi(a) is close to exp(-a²/2) the mode solves a quadratic.
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
		l := inverseMills(a)
		d1 := nu - nu*s*s + t*s*l
		d2 := nu + nu*s*s + t*t*s*s*l*(a+l)
		du := d1 / d2
		s *= math.Exp(math.Max(-1, math.Min(1, du)))
		if du*du*d2 < 0.01 {
			break
		}
	}
	return s
}

// sum adds the terms at x = first, first ± step, first ± 2 step, ...
func (q *tailIntegral) sum(first, step float64, slopes bool) tailSums {
	var total tailSums
	for i := range 100 * tailNodes {
		x := first + float64(i)*step
		f := q.term(x, slopes)
		total.add(f)
		if f.value <= tailCut*total.value && i > 2 {
			break
		}
	}
	for i := range 100 * tailNodes {
		x := first - float64(i+1)*step
		f := q.term(x, slopes)
		total.add(f)
		if f.value <= tailCut*total.value && i > 2 {
			break
		}
	}
	return total
}

func (q *tailIntegral) term(x float64, slopes bool) tailSums {
	e := math.Exp(math.Abs(x))
	sinh, cosh := 0.5*(e-1/e), 0.5*(e+1/e)
	if x < 0 {
		sinh = -sinh
	}
	u := q.center + q.width*(x+tailStretch*sinh)
	var s, a, g float64
	if math.Abs(u) < 0.25 {
		v := math.Expm1(u)
		s, a, g = 1+v, q.excess+q.t*v, chiExponent(u)
	} else {
		s = math.Exp(u)
		a, g = math.FMA(q.t, s, -q.delta), u-0.5*(s*s-1)
	}
	w := (1 + tailStretch*cosh) * math.Exp(q.nu*(g-q.gc))
	f := tailSums{value: w * NormalCDF(a)}
	if slopes {
		f.ddelta = w * NormalDensity(a)
		f.dt = f.ddelta * s
	}
	return f
}

// inverseMills approximates phi(a)/Phi(a) to about one percent, which is enough
// to place a grid.
func inverseMills(a float64) float64 {
	x := math.Abs(a)
	r := math.Pi / ((math.Pi-1)*x + math.Sqrt(x*x+2*math.Pi))
	if a <= 0 {
		return 1 / r
	}
	d := NormalDensity(a)
	return d / (1 - d*r)
}

// chiExponent returns g(u) = u - (e^{2u}-1)/2 without cancellation near zero:
// -2u² (1/2 + y/6 + y²/24 + ...) with y = 2u.
func chiExponent(u float64) float64 {
	y := 2 * u
	if math.Abs(y) > 0.5 {
		return u - 0.5*math.Expm1(y)
	}
	p := 1.0 / 1307674368000
	p = 1.0/87178291200 + y*p
	p = 1.0/6227020800 + y*p
	p = 1.0/479001600 + y*p
	p = 1.0/39916800 + y*p
	p = 1.0/3628800 + y*p
	p = 1.0/362880 + y*p
	p = 1.0/40320 + y*p
	p = 1.0/5040 + y*p
	p = 1.0/720 + y*p
	p = 1.0/120 + y*p
	p = 1.0/24 + y*p
	p = 1.0/6 + y*p
	p = 1.0/2 + y*p
	return -0.5 * y * y * p
}

// stirlingError returns r(a) in Gamma(a) = sqrt(2 pi/a) (a/e)^a e^{r(a)}, for
// a >= 1/2.
func stirlingError(a float64) float64 {
	if a < 8 {
		// r(a) = r(a+1) + (a+1/2) ln(1+1/a) - 1, taken to b = a+8 at once.
		b := a + 8
		prod := a * (a + 1) * (a + 2) * (a + 3) * (a + 4) * (a + 5) * (a + 6) * (a + 7)
		return stirlingSeries(b) + (b-0.5)*math.Log(b) - (a-0.5)*math.Log(a) - 8 - math.Log(prod)
	}
	return stirlingSeries(a)
}

// stirlingSeries is the asymptotic series of r(a) for a >= 8, Abramowitz &
// Stegun 6.1.41.
func stirlingSeries(a float64) float64 {
	v := 1 / (a * a)
	return (1.0/12 - v*(1.0/360-v*(1.0/1260-v*(1.0/1680-v*(1.0/1188-v*(691.0/360360-v*(1.0/156-v*3617.0/122400))))))) / a
}
