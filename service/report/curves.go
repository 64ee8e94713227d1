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

// Dependence is what readings that follow one another within a shift tell of each other.
type Dependence struct {
	// Pairs is how many readings begin when another one of the same zone and subject ends.
	Pairs int
	// Correlation is that of the logarithm of each reading with that of the next.
	Correlation float64
	// EffectiveReadings is how many independent readings all of them are worth for their mean.
	EffectiveReadings float64
	// Dependent says that the correlation is more than chance.
	Dependent bool
}
