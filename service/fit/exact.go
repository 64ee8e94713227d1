package fit

import (
	"errors"
	"math"

	"example.com/tailbound/service/fault"
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

// Quantile is the q with G(z, q) = p.
func (e *exact) Quantile(z, p float64) (float64, error) {
	return e.answer(e.mean + e.sd/e.root*e.rule.Quantile(z*e.root, p))
}

// Score is the z with G(z, q) = p: the noncentrality that gives the observed distance to q the probability p.
func (e *exact) Score(q, p float64) (float64, error) {
	return e.answer(e.rule.Delta(e.standard(q), p) / e.root)
}

// Spread is the p-quantile of sigma: (n-1) s²/sigma² is chi-square with n-1 degrees of freedom.
func (e *exact) Spread(p float64) (float64, error) {
	nu := e.n - 1
	return e.answer(e.sd * math.Sqrt(nu/numeric.ChiSquareQuantile(nu, 1-p)))
}

// answer refuses a number that a solve could not find.
func (e *exact) answer(v float64) (float64, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fault.Wrap(errNoSolution, "no solution for a limit of the fitted lognormal")
	}
	return v, nil
}

var errNoSolution = errors.New("fit: a quantile of the posterior was not found")

// LogMean is the p-quantile of mu + sigma²/2: over the law of S = sd/sigma, mu given sigma is normal about the mean of the
// logs with standard deviation sigma/sqrt(n). It equals the generalized pivotal quantity of Krishnamoorthy and Mathew (2003),
// J Stat Plan Inference 115:103 (from memory).
func (e *exact) LogMean(p float64) (float64, error) {
	sigma := e.sd / math.Sqrt(numeric.ChiSquareQuantile(e.n-1, 1-p)/(e.n-1))
	guess := e.mean + sigma*sigma/2
	v, err := numeric.RootNear(func(q float64) (float64, float64) {
		value, slope := e.logMeanBelow(q)
		return value - p, slope
	}, guess, e.sd/e.root, math.Inf(-1), math.Inf(1))
	if err != nil {
		return 0, fault.Wrap(err, "no solution for a limit of the arithmetic mean")
	}
	return v, nil
}

// logMeanBelow is Pr(mu + sigma²/2 <= q) and its density.
func (e *exact) logMeanBelow(q float64) (value, density float64) {
	for i := range e.rule.Len() {
		s, weight := e.rule.Node(i)
		sigma := e.sd / s
		scale := e.root / sigma
		x := (q - e.mean - sigma*sigma/2) * scale
		value += weight * numeric.NormalCDF(x)
		density += weight * numeric.NormalDensity(x) * scale
	}
	return value, density
}
