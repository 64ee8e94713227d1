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
// for any x. The relative error is a few units in the last place up to |x| of
// about 8 and grows like x² times the rounding unit beyond.
func NormalDensity(x float64) float64 {
	return invSqrt2Pi * math.Exp(-0.5*x*x)
}

// NormalCDF returns Phi(x), the standard normal probability at or below x. The
// lower tail keeps its relative accuracy down to the smallest normal number
// (x about -37.5); the upper tail is the business of NormalSurvival.
func NormalCDF(x float64) float64 {
	return 0.5 * math.Erfc(-x/math.Sqrt2)
}

// NormalSurvival returns 1 - Phi(x), the standard normal probability above x,
// without cancellation for large x.
func NormalSurvival(x float64) float64 {
	return 0.5 * math.Erfc(x/math.Sqrt2)
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
// small upper tail, accurate down to q of 1e-300. Its special cases mirror those
// of NormalQuantile.
func NormalQuantileUpper(q float64) float64 {
	return -NormalQuantile(q)
}

// normalTailQuantile solves Phi(x) = p for 0 <= p < 0.25.
//
// The starting value is Abramowitz & Stegun 26.2.23 (error below 4.5e-4). Each
// Halley step on Phi(x) - p triples the digits, so two reach the rounding unit.
func normalTailQuantile(p float64) float64 {
	if p == 0 {
		return math.Inf(-1)
	}
	r := math.Sqrt(-2 * math.Log(p))
	x := (2.515517+r*(0.802853+r*0.010328))/(1+r*(1.432788+r*(0.189269+r*0.001308))) - r
	for range 2 {
		e := (NormalCDF(x) - p) / NormalDensity(x)
		if math.IsNaN(e) || math.IsInf(e, 0) {
			// Only a subnormal p comes here: the density has underflowed.
			return x
		}
		x -= e / (1 + 0.5*x*e)
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
	case x > logCDFSeam:
		return math.Log(NormalCDF(x))
	default:
		return logNormalCDFFar(x)
	}
}

// logCDFSeam is where LogNormalCDF changes from the logarithm of Phi, which
// underflows at -38.5, to the asymptotic series, whose sixth term is below 1e-15
// here.
const logCDFSeam = -30

// logNormalCDFFar evaluates ln Phi(x) for x <= logCDFSeam from the asymptotic
// series of the Mills ratio, Abramowitz & Stegun 26.2.12.
func logNormalCDFFar(x float64) float64 {
	if math.IsInf(x, -1) {
		return x
	}
	v := 1 / (x * x)
	tail := -v * (1 - v*(3-v*(15-v*(105-v*(945-v*10395)))))
	return -0.5*x*x - math.Log(-x) - lnSqrt2Pi + math.Log1p(tail)
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
