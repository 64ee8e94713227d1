package numeric

import "math"

// NoncentralT is the distribution of
//
//	T = (Z + Delta) / S,   Z standard normal,   S = sqrt(chi²_Nu / Nu)
//
// with Z and S independent. Nu, the degrees of freedom, is any real number from
// 1 to 1e9; Delta, the noncentrality, from -1e10 to 1e10. Outside that domain, and
// for a NaN argument, every method returns NaN.
//
// All methods rest on
//
//	P(T <= t) = E Phi(t S - Delta)
//
// integrated numerically; no series, no normal approximation, no switch of
// algorithm. The smaller tail is always the one that is integrated.
type NoncentralT struct {
	// Nu is the number of degrees of freedom.
	Nu float64
	// Delta is the noncentrality.
	Delta float64
}

const (
	minNu    = 1
	maxNu    = 1e9
	maxDelta = 1e10
)

// valid reports whether the parameters are in the domain; NaN is not.
func (d NoncentralT) valid() bool {
	return d.Nu >= minNu && d.Nu <= maxNu && math.Abs(d.Delta) <= maxDelta
}

// CDF returns P(T <= t). See tailProbability for the accuracy.
func (d NoncentralT) CDF(t float64) float64 {
	if !d.valid() || t != t {
		return math.NaN()
	}
	if t == 0 {
		return NormalCDF(-d.Delta)
	}
	// P(T <= Delta) is between 0.3 and 0.5 for positive Delta, so this side of it
	// is the smaller tail or nearly so.
	if t <= d.Delta {
		return tailProbability(d.Nu, t, d.Delta)
	}
	return 1 - tailProbability(d.Nu, -t, -d.Delta)
}

// Survival returns P(T > t), computed directly where it is the smaller tail.
func (d NoncentralT) Survival(t float64) float64 {
	if !d.valid() || t != t {
		return math.NaN()
	}
	if t == 0 {
		return NormalSurvival(-d.Delta)
	}
	if t > d.Delta {
		return tailProbability(d.Nu, -t, -d.Delta)
	}
	return 1 - tailProbability(d.Nu, t, d.Delta)
}
