package fit

import (
	"errors"
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/numeric/logmean"
)

// exact is the posterior under the reference prior 1/sigma when nothing is censored. There sqrt(n)(q - mean)/s at given
// z is noncentral t with n-1 degrees of freedom and noncentrality z sqrt(n), so the reference-prior posterior and the
// classical exact tolerance limit are the same number: the limit of a percentile is exp(mean + k s) with k the factor of
// numeric.ToleranceFactor (Guttman 1970, Statistical Tolerance Regions; from memory).
type exact struct {
	n, root, mean, sd float64
	*size
}

func newExact(n int, mean, sd float64, factors *Factors) *exact {
	return &exact{n: float64(n), root: math.Sqrt(float64(n)), mean: mean, sd: sd, size: factors.of(n)}
}

// standard is where q falls on the axis of the noncentral t.
func (e *exact) standard(q float64) float64 { return e.root * (q - e.mean) / e.sd }

// Below is G(z, q).
func (e *exact) Below(z, q float64) float64 {
	below, _ := e.rule.Tails(e.standard(q), z*e.root)
	return below
}

// Above is 1 - G(z, q).
func (e *exact) Above(z, q float64) float64 {
	_, above := e.rule.Tails(e.standard(q), z*e.root)
	return above
}

// NumericalError is 0: the answers are those of closed forms, good to rounding.
func (e *exact) NumericalError() float64 { return 0 }

// Quantile is the q with G(z, q) = p, mean + k s. At z = 0 it is Student's t, whose two limits mirror each other.
func (e *exact) Quantile(z, p float64) (float64, error) {
	if z == 0 && p > 0.5 {
		q, err := e.Quantile(0, 1-p)
		return 2*e.mean - q, err
	}
	k := e.percentiles.get(z, p, func() float64 { return e.rule.Quantile(z*e.root, p) / e.root })
	return e.answer(e.mean + k*e.sd)
}

// Score is the z with G(z, q) = p: the noncentrality that gives the observed distance to q the probability p.
func (e *exact) Score(q, p float64) (float64, error) {
	// Readings this close together leave z at the mercy of the spread alone: the normal part of T = (Z + delta)/S no longer
	// changes a digit, and delta/t is a quantile of S.
	const far = 1e8
	t := e.standard(q)
	if math.Abs(t) > far {
		if t > 0 {
			p = 1 - p
		}
		nu := e.n - 1
		return e.answer(t * math.Sqrt(numeric.ChiSquareQuantile(nu, p)/nu) / e.root)
	}
	return e.answer(e.rule.Delta(t, p) / e.root)
}

// Spread is the p-quantile of sigma: (n-1) s²/sigma² is chi-square with n-1 degrees of freedom.
func (e *exact) Spread(p float64) (float64, error) {
	nu := e.n - 1
	k := e.spreads.get(0, p, func() float64 { return math.Sqrt(nu / numeric.ChiSquareQuantile(nu, 1-p)) })
	return e.answer(k * e.sd)
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
// logs with standard deviation sigma/sqrt(n), the same law as that of the generalized pivotal quantity.
func (e *exact) LogMean(p float64) (float64, error) {
	v, err := logmean.Pivotal(int(e.n), e.mean, e.sd, p)
	if err != nil {
		return 0, fault.Wrap(err, "no solution for a limit of the arithmetic mean")
	}
	return v, nil
}
