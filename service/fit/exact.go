package fit

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// exact is the posterior under the reference prior 1/sigma when nothing is censored. There sqrt(n)(q - mean)/s at given
// z is noncentral t with n-1 degrees of freedom and noncentrality z sqrt(n), so the reference-prior posterior and the
// classical exact tolerance limit are the same number: the limit of a percentile is exp(mean + k s) with k the factor of
// numeric.ToleranceFactor (Guttman 1970, Statistical Tolerance Regions; from memory).
type exact struct {
	n, root, mean, sd float64
	rule              numeric.ChiRule
}

func newExact(n int, mean, sd float64) *exact {
	return &exact{n: float64(n), root: math.Sqrt(float64(n)), mean: mean, sd: sd, rule: numeric.NewChiRule(float64(n - 1))}
}

// at is the noncentral t of G(z, ·) and standard is where q falls on its axis.
func (e *exact) at(z float64) numeric.NoncentralT {
	return numeric.NoncentralT{Nu: e.n - 1, Delta: z * e.root}
}

func (e *exact) standard(q float64) float64 { return e.root * (q - e.mean) / e.sd }

// Below is G(z, q).
func (e *exact) Below(z, q float64) float64 { return e.at(z).CDF(e.standard(q)) }

// Above is 1 - G(z, q).
func (e *exact) Above(z, q float64) float64 { return e.at(z).Survival(e.standard(q)) }
