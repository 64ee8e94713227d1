package numeric

import "math"

// chiPoint returns s = e^u, s - 1 and g(u) = u - (s²-1)/2, the exponent of the
// density of u = ln S per degree of freedom:
//
//	f(u) = sqrt(nu/pi) e^{-r(nu/2)} e^{nu g(u)},   r = stirlingError.
//
// Near u = 0, where the parts of g and of s - 1 cancel, g is summed as a series
// and s follows from s² - 1 = 2(u-g); nu g is then right to a few units of
// rounding even for nu of a million.
func chiPoint(u float64) (s, excess, g float64) {
	if math.Abs(u) < chiSeriesEnd {
		g = chiSeries(u)
		square := 2 * (u - g)
		s = math.Sqrt(1 + square)
		return s, square / (1 + s), g
	}
	s = expWeight(u)
	return s, s - 1, u - 0.5*(s*s-1)
}

// chiSeriesEnd is the |u| up to which chiSeries is exact to rounding: its first
// dropped term is 2y^14/16! < 1e-17 there.
const chiSeriesEnd = 0.25

// chiSeries is g(u) for |u| <= chiSeriesEnd,
//
//	g = -u² (1 + 2y/3! + 2y²/4! + 2y³/5! + ...),   y = 2u.
//
// The polynomial is split into four
// interleaved ones in y⁴ so that the processor can run them side by side.
func chiSeries(u float64) float64 {
	y := 2 * u
	y2 := y * y
	y4 := y2 * y2
	a := 1 + y4*(2.0/720+y4*(2.0/3628800+y4*(2.0/87178291200)))
	b := 2.0/6 + y4*(2.0/5040+y4*(2.0/39916800+y4*(2.0/1307674368000)))
	c := 2.0/24 + y4*(2.0/40320+y4*(2.0/479001600))
	d := 2.0/120 + y4*(2.0/362880+y4*(2.0/6227020800))
	return -0.25 * y2 * ((a + y*b) + y2*(c+y*d))
}

// stirlingError returns r(a) in Gamma(a) = sqrt(2 pi/a) (a/e)^a e^{r(a)}, for
// a >= 1/2, to 1e-14.
func stirlingError(a float64) float64 {
	if a >= 8 {
		return stirlingSeries(a)
	}
	// r(a) = r(a+1) + (a+1/2) ln(1+1/a) - 1, taken eight times at once.
	b := a + 8
	prod := a * (a + 1) * (a + 2) * (a + 3) * (a + 4) * (a + 5) * (a + 6) * (a + 7)
	return stirlingSeries(b) + (b-0.5)*math.Log(b) - (a-0.5)*math.Log(a) - math.Log(prod) - 8
}

// stirlingSeries is the asymptotic series of r(a) for a >= 8, Abramowitz & Stegun
// 6.1.41; its first dropped term is 43867/244188 a^-17 < 1e-16.
func stirlingSeries(a float64) float64 {
	v := 1 / (a * a)
	return (1.0/12 - v*(1.0/360-v*(1.0/1260-v*(1.0/1680-v*(1.0/1188-v*(691.0/360360-v*(1.0/156-v*3617.0/122400))))))) / a
}

// chiMoments returns the mean m of S, its variance v = 1 - m² and its third
// central moment m (1/nu - 2v), from the asymptotic series of m: good to 1e-3 at
// nu = 1 and much better above. It serves starting values only.
func chiMoments(nu float64) (m, v, third float64) {
	w := 1 / nu
	m = 1 - w*(1.0/4-w*(1.0/32+w*(5.0/128-w*21.0/2048)))
	v = 1 - m*m
	return m, v, m * (w - 2*v)
}

// stepShape approximates l = phi(a)/Phi(a), the slope of ln Phi(a), and
// l (a + l), minus its curvature, which lies between 0 and 1. One percent is
// enough to place a grid.
func stepShape(a float64) (slope, bend float64) {
	if a < -50 {
		return -a, 1
	}
	x := math.Abs(a)
	mills := math.Pi / ((math.Pi-1)*x + math.Sqrt(x*x+2*math.Pi))
	if a <= 0 {
		slope = 1 / mills
	} else {
		d := NormalDensity(a)
		slope = d / (1 - d*mills)
	}
	return slope, slope * (a + slope)
}
