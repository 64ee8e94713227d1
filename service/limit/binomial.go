package limit

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"example.com/tailbound/service/numeric"
)

// inside says whether p lies strictly between 0 and 1.
func inside(p float64) bool { return p > 0 && p < 1 }

// binomialAtMost is Pr(Bin(n, p) <= k), by the incomplete beta function (Abramowitz and Stegun 26.5.24).
func binomialAtMost(n, k int, p float64) float64 {
	switch {
	case k < 0:
		return 0
	case k >= n:
		return 1
	}
	return mathext.RegIncBeta(float64(n-k), float64(k+1), 1-p)
}

// binomialAtLeast is Pr(Bin(n, p) >= k), computed directly.
func binomialAtLeast(n, k int, p float64) float64 {
	switch {
	case k <= 0:
		return 1
	case k > n:
		return 0
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}

// binomialUpper is the p with Pr(Bin(n, p) <= k) = 1 - confidence, the upper limit of Clopper and Pearson for k of n.
func binomialUpper(n, k int, confidence float64) float64 {
	switch k {
	case n:
		return 1
	case 0:
		return -math.Expm1(math.Log1p(-confidence) / float64(n))
	}
	return solveBinomial(func(p float64) float64 { return binomialAtMost(n, k, p) - (1 - confidence) }, n, k, -1)
}

// binomialLower is the p with Pr(Bin(n, p) >= k) = 1 - confidence, the lower limit.
func binomialLower(n, k int, confidence float64) float64 {
	switch k {
	case 0:
		return 0
	case n:
		return math.Exp(math.Log1p(-confidence) / float64(n))
	}
	return solveBinomial(func(p float64) float64 { return binomialAtLeast(n, k, p) - (1 - confidence) }, n, k-1, 1)
}

// solveBinomial finds where excess, a binomial tail less its aim, is 0. The slope of the tail that begins between k and k+1 is
// sign n C(n-1, k) p^k (1-p)^(n-1-k). The tail is 0 and 1 at the ends of 0..1, so there is a root; NaN says that the search
// failed.
func solveBinomial(excess func(p float64) float64, n, k int, sign float64) float64 {
	below, above := float64(k), float64(n-1-k)
	factor := logFactorial(float64(n)) - logFactorial(below) - logFactorial(above)
	p, err := numeric.Root(func(p float64) (float64, float64) {
		return excess(p), sign * math.Exp(factor+below*math.Log(p)+above*math.Log1p(-p))
	}, 0, 1)
	if err != nil {
		return math.NaN()
	}
	return p
}

func logFactorial(x float64) float64 {
	v, _ := math.Lgamma(x + 1)
	return v
}
