package numeric_test

import (
	"fmt"
	"math"

	"example.com/tailbound/service/numeric"
)

// The factor for the upper 95 % limit of the 95th percentile of ten readings, and
// the noncentrality that leads back to the fraction.
func Example() {
	k := numeric.ToleranceFactor(10, 0.95, 0.95)
	delta := numeric.NoncentralTDelta(9, k*math.Sqrt(10), 0.95)
	fmt.Printf("k = %.6f, fraction = %.6f\n", k, numeric.NormalCDF(delta/math.Sqrt(10)))
	// Output: k = 2.910963, fraction = 0.950000
}

// One rule serves several solves for the same sample size.
func ExampleChiRule() {
	rule := numeric.NewChiRule(9)
	root := math.Sqrt(10)
	z := numeric.NormalQuantile(0.95)
	for _, confidence := range []float64{0.05, 0.7, 0.95} {
		fmt.Printf("%.2f %.6f\n", confidence, rule.Quantile(z*root, confidence)/root)
	}
	// Output:
	// 0.05 1.017299
	// 0.70 2.005307
	// 0.95 2.910963
}

// An integral that overflows a float64 is returned by its logarithm.
func ExampleIntegratePeaked() {
	r, err := numeric.IntegratePeaked(func(u float64) float64 { return 1000*u - math.Exp(u) }, 0, 1)
	fmt.Printf("ln Gamma(1000) = %.6f %v\n", r.Log, err)
	// Output: ln Gamma(1000) = 5905.220423 <nil>
}
