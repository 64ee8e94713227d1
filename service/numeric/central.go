package numeric

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// StudentTCDF returns P(T <= t) of Student's t with nu >= 1 degrees of freedom.
func StudentTCDF(nu, t float64) float64 {
	return NoncentralT{Nu: nu}.CDF(t)
}

// StudentTSurvival returns P(T > t) of Student's t with nu >= 1 degrees of
// freedom.
func StudentTSurvival(nu, t float64) float64 {
	return NoncentralT{Nu: nu}.Survival(t)
}

// StudentTQuantile returns the t with P(T <= t) = p for nu >= 1 degrees of
// freedom.
func StudentTQuantile(nu, p float64) float64 {
	return NoncentralT{Nu: nu}.Quantile(p)
}

// ChiSquareCDF returns P(X <= x) of chi-square with nu > 0 degrees of freedom.
func ChiSquareCDF(nu, x float64) float64 {
	if !(nu > 0) || !(x >= 0) {
		return math.NaN()
	}
	return mathext.GammaIncReg(0.5*nu, 0.5*x)
}

// ChiSquareSurvival returns P(X > x) of chi-square with nu > 0 degrees of
// freedom.
func ChiSquareSurvival(nu, x float64) float64 {
	if !(nu > 0) || !(x >= 0) {
		return math.NaN()
	}
	return mathext.GammaIncRegComp(0.5*nu, 0.5*x)
}

// ChiSquareQuantile returns the x with P(X <= x) = p for nu > 0 degrees of
// freedom.
func ChiSquareQuantile(nu, p float64) float64 {
	if !(nu > 0) || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	return 2 * mathext.GammaIncRegInv(0.5*nu, p)
}

// FSurvival returns P(X > f) of the F distribution with d1 and d2 degrees of
// freedom, f >= 0.
func FSurvival(d1, d2, f float64) float64 {
	if !(d1 > 0 && d2 > 0) || !(f >= 0) {
		return math.NaN()
	}
	return mathext.RegIncBeta(0.5*d2, 0.5*d1, d2/(d2+d1*f))
}
