package numeric

import "math"

const (
	// lnSqrt2Pi is ln(sqrt(2 pi)).
	lnSqrt2Pi = 0.918938533204672741780329736405617639861397473637783412817152
	// invSqrt2Pi is 1/sqrt(2 pi).
	invSqrt2Pi = 0.398942280401432677939946059934381868475858631164934657665926
)

// NormalDensity returns the standard normal density
//
//	phi(x) = exp(-x²/2) / sqrt(2 pi)
//
// for any x, to about two units of rounding; it is zero beyond |x| = 38.7.
func NormalDensity(x float64) float64 {
	square := x * x
	if square > 1500 {
		return 0
	}
	// The part of x² that is rounded off would cost x² units in the exponential.
	rest := math.FMA(x, x, -square)
	return invSqrt2Pi * math.Exp(-0.5*square) * (1 - 0.5*rest)
}

// NormalCDF returns Phi(x), the standard normal probability at or below x, with a
// relative error of a few units of rounding down to the smallest normal number
// (x about -37.5). The upper tail is the business of NormalSurvival.
func NormalCDF(x float64) float64 {
	if x < -1 {
		return NormalDensity(x) * millsRatio(-x)
	}
	return 0.5 * math.Erfc(-x/math.Sqrt2)
}

// NormalSurvival returns 1 - Phi(x), the standard normal probability above x,
// with the same relative accuracy in the upper tail.
func NormalSurvival(x float64) float64 {
	return NormalCDF(-x)
}

// NormalQuantile returns the x with Phi(x) = p.
//
// Special cases:
//
//	NormalQuantile(0) = -Inf
//	NormalQuantile(1) = +Inf
//	NormalQuantile(p) = NaN for p < 0, p > 1 or NaN
//
// For p close to one the answer can be no better than p itself, which is spaced
// 1e-16 there: use NormalQuantileUpper with the small tail instead.
func NormalQuantile(p float64) float64 {
	switch {
	case !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.75:
		return -normalTailQuantile(1 - p)
	case p >= 0.25:
		// Here 2p-1 is exact, so nothing is lost around the median.
		return math.Sqrt2 * math.Erfinv(2*p-1)
	default:
		return normalTailQuantile(p)
	}
}

// NormalQuantileUpper returns the x with 1 - Phi(x) = q: the quantile for a
// small upper tail. Its special cases mirror those of NormalQuantile.
func NormalQuantileUpper(q float64) float64 {
	return -NormalQuantile(q)
}

// normalTailQuantile solves ln Phi(x) = ln p for 0 <= p < 0.25.
//
// The starting value is Abramowitz & Stegun 26.2.23 (error below 4.5e-4). With
// m = phi/Phi the first two derivatives are m and -m (x+m); each Halley step
// triples the digits, so two reach the rounding unit.
func normalTailQuantile(p float64) float64 {
	if p == 0 {
		return math.Inf(-1)
	}
	target := math.Log(p)
	if p < 0x1p-1022 {
		// math.Log of Go 1.26 on amd64 takes a subnormal for about 1e-308.
		target = math.Log(p*0x1p60) - 60*math.Ln2
	}
	r := math.Sqrt(-2 * target)
	x := (2.515517+r*(0.802853+r*0.010328))/(1+r*(1.432788+r*(0.189269+r*0.001308))) - r
	for range 2 {
		mills := millsRatio(-x)
		step := (math.Log(mills) - 0.5*x*x - lnSqrt2Pi - target) * mills
		x -= step / (1 + 0.5*step*(x+1/mills))
	}
	return x
}

// LogNormalCDF returns ln Phi(x) for any x, accurate relatively in both tails:
// for large positive x it tends to -(1-Phi(x)), for large negative x to
// -x²/2 - ln(|x| sqrt(2 pi)).
//
// (The name says "logarithm of the normal CDF"; it has nothing to do with the
// lognormal distribution.)
func LogNormalCDF(x float64) float64 {
	switch {
	case x > 0:
		return math.Log1p(-NormalSurvival(x))
	case x > -1:
		return math.Log(NormalCDF(x))
	case math.IsInf(x, -1):
		return x
	default:
		// Both terms are negative from here on, so nothing cancels, and nothing
		// underflows however far out x is.
		return math.Log(millsRatio(-x)) - 0.5*x*x - lnSqrt2Pi
	}
}

// LogNormalDifference returns ln(Phi(b) - Phi(a)), the logarithm of the normal
// probability between a and b, for a <= b; either may be infinite.
//
// Neither tail cancels: the difference is taken on the side where both
// probabilities are small, and a narrow interval is integrated instead of
// subtracted. It is -Inf for a == b and NaN for a > b.
func LogNormalDifference(a, b float64) float64 {
	switch {
	case !(a <= b):
		return math.NaN()
	case a == b:
		return math.Inf(-1)
	case a > 0:
		a, b = -b, -a
	}
	mid, half := 0.5*(a+b), 0.5*(b-a)
	if half*(1+math.Abs(mid)) < 0.5 {
		return logNormalNarrow(mid, half)
	}
	if b > 0 {
		return math.Log1p(-(NormalCDF(a) + NormalSurvival(b)))
	}
	lb := LogNormalCDF(b)
	return lb + math.Log1p(-math.Exp(LogNormalCDF(a)-lb))
}

// logNormalNarrow returns the logarithm of the normal probability of
// [mid-half, mid+half] for half·(1+|mid|) < 1/2, where the density relative to
// its value at mid stays between 1/2 and 2 and Gauss-Legendre is exact to
// rounding.
func logNormalNarrow(mid, half float64) float64 {
	sum := GaussLegendre(func(y float64) float64 {
		return math.Exp(-y * (mid + 0.5*y))
	}, -half, half)
	return math.Log(sum) - 0.5*mid*mid - lnSqrt2Pi
}
