package numeric

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// StudentTCDF returns P(T <= t) of Student's t with nu degrees of freedom, nu from
// 1 to 1e9. It is the noncentral t at noncentrality zero, with the same accuracy.
func StudentTCDF(nu, t float64) float64 {
	return NoncentralT{Nu: nu}.CDF(t)
}

// StudentTSurvival returns P(T > t) of Student's t, accurate for small tails. A
// two-sided p value is twice this at |t|.
func StudentTSurvival(nu, t float64) float64 {
	return NoncentralT{Nu: nu}.Survival(t)
}

// StudentTQuantile returns the t with P(T <= t) = p of Student's t with nu degrees
// of freedom, nu from 1 to 1e9: -Inf at p = 0, +Inf at p = 1, NaN outside [0, 1].
// The relative error is below 1e-13; around the median, where the quantile is
// zero, the absolute error is below 1e-14.
func StudentTQuantile(nu, p float64) float64 {
	d := NoncentralT{Nu: nu}
	switch {
	case p > 0.5:
		// 1-p is exact here, and the answer is exactly antisymmetric.
		return -d.Quantile(1 - p)
	case p == 0.5 && d.valid():
		return 0
	default:
		return d.Quantile(p)
	}
}

// ChiSquareCDF returns P(X <= x) of chi-square with nu > 0 degrees of freedom,
//
//	P(nu/2, x/2),   the regularized lower incomplete gamma function,
//
// for x >= 0; any other argument gives NaN. The incomplete gamma function is
// gonum's: checked here to 1e-13 for nu up to 1000, and to 5e-12 in tails of
// 1e-16 for nu of a million.
func ChiSquareCDF(nu, x float64) float64 {
	switch {
	case !(nu > 0) || math.IsInf(nu, 1) || !(x >= 0):
		return math.NaN()
	case math.IsInf(x, 1):
		return 1
	}
	return mathext.GammaIncReg(0.5*nu, 0.5*x)
}

// ChiSquareSurvival returns P(X > x) of chi-square, the upper incomplete gamma
// function computed directly; domain and accuracy as for ChiSquareCDF.
func ChiSquareSurvival(nu, x float64) float64 {
	switch {
	case !(nu > 0) || math.IsInf(nu, 1) || !(x >= 0):
		return math.NaN()
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(0.5*nu, 0.5*x)
}

// ChiSquareQuantile returns the x with P(X <= x) = p of chi-square with nu > 0
// degrees of freedom: 0 at p = 0, +Inf at p = 1, NaN outside [0, 1]. The relative
// error is below 1e-13 for 0.1 <= nu <= 1000.
func ChiSquareQuantile(nu, p float64) float64 {
	switch {
	case !(nu > 0) || math.IsInf(nu, 1) || !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	return chiSquareOfScore(nu, NormalQuantile(p))
}

// chiSquareOfScore returns the x with P(X <= x) = Phi(z), solved in
// u = ln(x/nu)/2 where the lower tail of few degrees of freedom is tame.
func chiSquareOfScore(nu, z float64) float64 {
	peak := math.Sqrt(nu/math.Pi) * math.Exp(-stirlingError(0.5*nu))
	score := func(u float64) scorePoint {
		s, _, g := chiPoint(u)
		x := nu * s * s
		upper := z > 0
		p := ChiSquareCDF(nu, x)
		if upper {
			p = ChiSquareSurvival(nu, x)
		}
		density := peak * math.Exp(nu*g)
		return scoreAt(p, density, density*nu*(1-s*s), upper)
	}
	start := startChi(nu, z, peak)
	if start < -340 {
		// x is below 1e-290: the leading term is exact, the solve would underflow.
		return nu * math.Exp(2*start)
	}
	u, ok := solveScore(score, z, start)
	if !ok {
		var err error
		u, err = RootNear(func(u float64) (float64, float64) {
			s := score(u)
			return s.z - z, s.d1
		}, start, 0.5/math.Sqrt(nu), math.Inf(-1), math.Inf(1))
		if err != nil {
			return math.NaN()
		}
	}
	return nu * math.Exp(2*u)
}

// startChi is a starting value for the u of score z: the cube-root approximation
// of Wilson and Hilferty, or far down the lower tail the leading term of the
// probability, peak e^{nu (u + 1/2)}/nu.
func startChi(nu, z, peak float64) float64 {
	v := 2 / (9 * nu)
	root := 1 - v + z*math.Sqrt(v)
	if root > 0.4 {
		return 1.5 * math.Log(root)
	}
	return (LogNormalCDF(z)+math.Log(nu/peak))/nu - 0.5
}

// FSurvival returns P(F > f) of the F distribution with d1 and d2 degrees of
// freedom,
//
//	I_x(d2/2, d1/2),   x = d2/(d2 + d1 f),
//
// for d1, d2 > 0 and f >= 0; any other argument gives NaN. The incomplete beta
// function is gonum's: checked here to 1e-12 relative, tails of 1e-89 included.
func FSurvival(d1, d2, f float64) float64 {
	switch {
	case !(d1 > 0 && d2 > 0) || math.IsInf(d1, 1) || math.IsInf(d2, 1) || !(f >= 0):
		return math.NaN()
	case math.IsInf(f, 1):
		return 0
	}
	return mathext.RegIncBeta(0.5*d2, 0.5*d1, d2/(d2+d1*f))
}
