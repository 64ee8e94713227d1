// Package limit reads confidence limits from a fit: of the geometric mean and standard deviation, the arithmetic mean, a
// percentile, and the fraction of exposures above a limit. Every limit is one-sided at the confidence asked for.
package limit

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/numeric/logmean"
)

// Bounds is an estimate with its one-sided confidence limits. A part that the readings do not determine, or that a float64
// cannot hold, is NaN.
type Bounds struct {
	Estimate, Lower, Upper float64
}

// finite returns v, or NaN when a float64 could not hold it.
func finite(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// exponential moves bounds from the scale of ln reading to that of readings.
func exponential(estimate, lower, upper float64) Bounds {
	return Bounds{finite(math.Exp(estimate)), finite(math.Exp(lower)), finite(math.Exp(upper))}
}

// GeometricMean is exp(mu), with the limits of G at z = 0: Student's t when nothing is censored.
func GeometricMean(f *fit.Fit, confidence float64) (Bounds, error) {
	return quantiles(f, 0, confidence)
}

// Percentile is exp(mu + z sigma) at the normal score z of fraction, with limits at confidence. When nothing is censored
// the limits are exp(mean + k s), k the exact one-sided tolerance factor.
func Percentile(f *fit.Fit, fraction, confidence float64) (Bounds, error) {
	return quantiles(f, numeric.NormalQuantile(fraction), confidence)
}

func quantiles(f *fit.Fit, z, confidence float64) (Bounds, error) {
	lower, upper, err := pair(confidence, func(p float64) (float64, error) { return f.Limits.Quantile(z, p) })
	return exponential(f.Mu+z*f.Sigma, lower, upper), err
}

// GeometricStandardDeviation is exp(sigma), with the limits of sigma: chi-square when nothing is censored.
func GeometricStandardDeviation(f *fit.Fit, confidence float64) (Bounds, error) {
	lower, upper, err := pair(confidence, f.Limits.Spread)
	return exponential(f.Sigma, lower, upper), err
}

// Exceedance is the fraction of exposures above the limit whose natural log is given, 1 - Phi((logLimit - mu)/sigma). Its
// limits are the survivals of the scores between which G at q = logLimit passes the confidence.
func Exceedance(f *fit.Fit, logLimit, confidence float64) (Bounds, error) {
	lower, upper, err := pair(confidence, func(p float64) (float64, error) { return f.Limits.Score(logLimit, p) })
	return Bounds{
		Estimate: numeric.NormalSurvival((logLimit - f.Mu) / f.Sigma),
		Lower:    numeric.NormalSurvival(lower),
		Upper:    numeric.NormalSurvival(upper),
	}, err
}

// pair evaluates a quantile function at the lower and the upper one-sided level.
func pair(confidence float64, quantile func(p float64) (float64, error)) (lower, upper float64, err error) {
	if lower, err = quantile(1 - confidence); err != nil {
		return 0, 0, err
	}
	upper, err = quantile(confidence)
	return lower, upper, err
}

// ArithmeticMean is exp(mu + sigma²/2). Where the limits are exact it is the minimum-variance unbiased estimate with Land's
// exact limits, else the plug-in estimate with limits of mu + sigma²/2.
func ArithmeticMean(f *fit.Fit, confidence float64) (Bounds, error) {
	if !f.Exact {
		lower, upper, err := pair(confidence, f.Limits.LogMean)
		return exponential(f.Mu+f.Sigma*f.Sigma/2, lower, upper), err
	}
	estimate, err := logmean.LogUnbiased(f.N, f.Mu, f.Sigma)
	if err != nil {
		return Bounds{}, unsolved(err)
	}
	lower, upper, err := pair(confidence, func(p float64) (float64, error) { return logmean.Land(f.N, f.Mu, f.Sigma, p) })
	return exponential(estimate, lower, upper), unsolved(err)
}

// ArithmeticMeanML is the maximum-likelihood estimate of the arithmetic mean, with the divisor n in the variance; NaN when a
// float64 cannot hold it.
func ArithmeticMeanML(f *fit.Fit) float64 {
	sigma := f.SigmaML()
	return finite(math.Exp(f.Mu + sigma*sigma/2))
}

// unsolved keeps the text of a solver from the caller.
func unsolved(err error) error {
	if err == nil {
		return nil
	}
	return fault.Wrap(err, "no solution for a limit of the arithmetic mean")
}
