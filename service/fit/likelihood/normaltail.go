package likelihood

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// logRootTwoPi is ln sqrt(2 pi).
const logRootTwoPi = 0.918938533204672741780329736405617639861397473637783412817152

// millsSeam is where the Mills ratio changes from a quotient, which loses x² units in the last place, to its asymptotic
// series, whose first neglected term is 2e-18 here.
const millsSeam = 12

// mills returns the Mills ratio m = (1 - Phi(x))/phi(x) for x >= 0, and lack = 1 - x m, which would cancel for large x. Both
// keep their relative accuracy: m to 3e-14, lack to 4e-12 (both worst just under the seam).
//
// Source: Abramowitz and Stegun 26.2.12 for the series.
func mills(x float64) (m, lack float64) {
	if x < millsSeam {
		m = numeric.NormalSurvival(x) / numeric.NormalDensity(x)
		return m, 1 - x*m
	}
	v := 1 / (x * x)
	s := 1.0
	for k := 31.0; k >= 3; k -= 2 {
		s = 1 - k*v*s
	}
	lack = v * s
	return (1 - lack) / x, lack
}

// tailTerm is the logarithm of a normal probability with what Newton's method needs of it.
type tailTerm struct {
	// value is ln Phi(z), slope its derivative phi/Phi and bend the negative of its second derivative, which lies in 0..1.
	value, slope, bend float64
}

// TailBelow describes ln Phi(z) for any finite z.
func TailBelow(z float64) tailTerm {
	switch {
	case z > 0:
		above := numeric.NormalSurvival(z)
		slope := numeric.NormalDensity(z) / (1 - above)
		return tailTerm{math.Log1p(-above), slope, slope * (z + slope)}
	case z > -millsSeam:
		below := numeric.NormalCDF(z)
		slope := numeric.NormalDensity(z) / below
		return tailTerm{math.Log(below), slope, slope * (z + slope)}
	}
	m, lack := mills(-z)
	return tailTerm{math.Log(m) - 0.5*z*z - logRootTwoPi, 1 / m, lack / (m * m)}
}

// sliceTerm is the logarithm of the normal probability between a and b.
type sliceTerm struct {
	// value is ln(Phi(b) - Phi(a)); lower and upper are phi(a) and phi(b) over that probability.
	value, lower, upper float64
}

// sliceBetween describes the probability between a < b, on the side where both tails are small. It is meant for slices that
// are not narrow; a narrow one is the business of narrowBand.
func sliceBetween(a, b float64) sliceTerm {
	if a+b < 0 {
		s := sliceBetween(-b, -a)
		s.lower, s.upper = s.upper, s.lower
		return s
	}
	if a < 0 {
		outside := numeric.NormalCDF(a) + numeric.NormalSurvival(b)
		inside := 1 - outside
		return sliceTerm{math.Log1p(-outside), numeric.NormalDensity(a) / inside, numeric.NormalDensity(b) / inside}
	}
	ma, _ := mills(a)
	mb, _ := mills(b)
	fall := math.Exp(-0.5 * (b - a) * (b + a))
	ratio := ma - fall*mb
	return sliceTerm{math.Log(ratio) - 0.5*a*a - logRootTwoPi, 1 / ratio, fall / ratio}
}
