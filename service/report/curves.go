package report

// Curves is the fitted lognormal with its uncertainty, point by point: what a figure draws.
type Curves struct {
	// Percentiles are those of the fit, by ascending fraction.
	Percentiles []CurvePoint
	// Exceedances are the fractions of exposures above a concentration, by ascending concentration.
	Exceedances []CurvePoint
	// Density is the posterior density of the percentile that the assessment is about, by ascending concentration.
	Density []DensityPoint
}

// CurvePoint is one point of a curve. Lower and Upper are one-sided limits of what the curve gives there, the concentration for a
// percentile and the fraction for an exceedance; NaN where there is none.
type CurvePoint struct {
	Fraction, Concentration float64
	Lower, Upper            float64
}

// DensityPoint is the probability per unit of ln concentration.
type DensityPoint struct {
	Concentration, Density float64
}
