package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// slope holds a log-likelihood with its first and second derivatives by a location m and by s = ln sigma.
type slopes struct {
	value, m, s, mm, ms, ss float64
}

// at is the log-likelihood of the readings of a zone whose own mean of ln reading is m, for sigma_w = sigma.
func (z *zone) at(m, sigma float64) slopes {
	var sum slopes
	if z.detected > 0 {
		sum.detected(float64(z.detected), z.mean-m, z.squares, sigma)
	}
	for _, c := range z.censored {
		switch {
		case math.IsInf(c.lower, -1):
			sum.tail((c.upper-m)/sigma, 1, sigma, c.count)
		case math.IsInf(c.upper, 1):
			sum.tail((c.lower-m)/sigma, -1, sigma, c.count)
		default:
			sum.band(c.lower-m, c.upper-m, sigma, c.count)
		}
	}
	return sum
}

// detected adds n readings with a value; d is the distance of their mean from m, squares their sum of squares about the mean.
func (t *slopes) detected(n, d, squares, sigma float64) {
	v := 1 / (sigma * sigma)
	e := (squares + n*d*d) * v
	t.value -= n*(math.Log(sigma)+0.5*logTwoPi) + 0.5*e
	t.m += n * d * v
	t.s += e - n
	t.mm -= n * v
	t.ms -= 2 * n * d * v
	t.ss -= 2 * e
}

// tail adds readings on one side of a bound at z standard deviations from m: below it for side 1, above it for side -1. With
// lambda = phi/Phi of side z the derivatives of ln Phi by z are side lambda and -lambda (side z + lambda).
func (t *slopes) tail(z, side, sigma, count float64) {
	value, lambda := logTail(side * z)
	first, second := count*side*lambda, -count*lambda*(side*z+lambda)
	t.value += count * value
	t.m -= first / sigma
	t.s -= first * z
	t.mm += second / (sigma * sigma)
	t.ms += (first + second*z) / sigma
	t.ss += first*z + second*z*z
}

// tailSeam is where logTail changes from the quotient phi/Phi to the asymptotic series of the Mills ratio. There the quotient
// has lost 1e-14 and the series is exact to rounding.
const tailSeam = -12

// logTail returns ln Phi(z) and its derivative.
func logTail(z float64) (value, slope float64) {
	if z > tailSeam {
		p := numeric.NormalCDF(z)
		if z > 0 {
			return math.Log1p(-numeric.NormalSurvival(z)), numeric.NormalDensity(z) / p
		}
		return math.Log(p), numeric.NormalDensity(z) / p
	}
	// Abramowitz and Stegun 26.2.12.
	v, series := 1/(z*z), 1.0
	for k := 31.0; k >= 1; k -= 2 {
		series = 1 - k*v*series
	}
	return math.Log(series/-z) - 0.5*(z*z+logTwoPi), -z / series
}

// narrowBand is the width of a band, in standard deviations and times its distance from the middle, under which its
// probability is integrated instead of subtracted.
const narrowBand = 0.5

// band adds readings between two bounds, given as distances from m.
func (t *slopes) band(lower, upper, sigma, count float64) {
	a, b := lower/sigma, upper/sigma
	if 0.5*(b-a)*(1+0.5*math.Abs(a+b)) < narrowBand {
		t.narrow(lower, upper, sigma, count)
		return
	}
	if a+b > 0 {
		// On the side of small tails nothing cancels; the mirror image changes the sign of m.
		var mirror slopes
		mirror.band(-upper, -lower, sigma, count)
		t.add(mirror, -1)
		return
	}
	p := numeric.NormalCDF(b) - numeric.NormalCDF(a)
	value := math.Log(p)
	if b < tailSeam {
		value, _ = logTail(b)
		other, _ := logTail(a)
		value += math.Log1p(-math.Exp(other - value))
	}
	// fa and fb are phi over the probability; the derivatives by a and b follow.
	fa, fb := math.Exp(-0.5*(a*a+logTwoPi)-value), math.Exp(-0.5*(b*b+logTwoPi)-value)
	aa, ab, bb := fa*(a-fa), fa*fb, -fb*(b+fb)
	t.add(slopes{
		value: count * value,
		m:     count * (fa - fb) / sigma,
		s:     count * (fa*a - fb*b),
		mm:    count * (aa + 2*ab + bb) / (sigma * sigma),
		ms:    count * (fb - fa + aa*a + ab*(a+b) + bb*b) / sigma,
		ss:    count * (fb*b - fa*a + aa*a*a + 2*ab*a*b + bb*b*b),
	}, 1)
}

// narrow averages over the readings that the band allows: the first derivatives are the means of theirs, the second ones the
// means of theirs and the covariances of their first (Louis 1982, from memory). The density varies by less than a factor of
// two inside, where five Gauss–Legendre nodes are exact to 1e-12 and better the narrower the band.
func (t *slopes) narrow(lower, upper, sigma, count float64) {
	nodes := [5]float64{-0.9061798459386639928, -0.5384693101056830910, 0, 0.5384693101056830910, 0.9061798459386639928}
	weights := [5]float64{0.2369268850561890875, 0.4786286704993664680, 0.5688888888888888889, 0.4786286704993664680, 0.2369268850561890875}
	middle, half := lower+0.5*(upper-lower), 0.5*(upper-lower)
	var center, sum slopes
	center.detected(1, middle, 0, sigma)
	mass := 0.0
	for i, x := range nodes {
		var one slopes
		one.detected(1, middle+half*x, 0, sigma)
		w := weights[i] * math.Exp(one.value-center.value)
		mass += w
		sum.m += w * one.m
		sum.s += w * one.s
		sum.mm += w * (one.mm + one.m*one.m)
		sum.ms += w * (one.ms + one.m*one.s)
		sum.ss += w * (one.ss + one.s*one.s)
	}
	m, s := sum.m/mass, sum.s/mass
	t.add(slopes{
		value: count * (center.value + math.Log(half*mass)),
		m:     count * m,
		s:     count * s,
		mm:    count * (sum.mm/mass - m*m),
		ms:    count * (sum.ms/mass - m*s),
		ss:    count * (sum.ss/mass - s*s),
	}, 1)
}

// add adds other; side is -1 for a mirror image.
func (t *slopes) add(other slopes, side float64) {
	t.value += other.value
	t.m += side * other.m
	t.s += other.s
	t.mm += other.mm
	t.ms += side * other.ms
	t.ss += other.ss
}
