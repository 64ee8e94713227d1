package report

import (
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
)

// The parts of an assessment, with NaN or nothing for what is absent.

func (a *Assessment) limit() float64 {
	if a.Limit == nil {
		return math.NaN()
	}
	return a.Limit.Value
}

// detected is v, or NaN when no reading has a value.
func (a *Assessment) detected(v float64) float64 {
	if a.Sample.Detected == 0 {
		return math.NaN()
	}
	return v
}

func (a *Assessment) limitReduction() LimitReduction {
	if a.LimitReduction == nil {
		return LimitReduction{Stated: math.NaN(), Factor: math.NaN()}
	}
	return *a.LimitReduction
}

func (a *Assessment) dependence() check.Dependence {
	if a.Dependence == nil {
		return check.Dependence{Correlation: math.NaN(), EffectiveReadings: math.NaN()}
	}
	return *a.Dependence
}

func (a *Assessment) fit() Fit {
	if a.Fit == nil {
		return Fit{unknown(), unknown(), unknown(), math.NaN()}
	}
	return *a.Fit
}

func (a *Assessment) percentile() Percentile {
	if a.Percentile == nil {
		return Percentile{math.NaN(), math.NaN(), unknown()}
	}
	return *a.Percentile
}

func (a *Assessment) exceedance() Exceedance {
	if a.Exceedance == nil {
		return Exceedance{math.NaN(), math.NaN(), unknown()}
	}
	return *a.Exceedance
}

func (a *Assessment) posterior() Posterior {
	if a.Posterior == nil {
		return Posterior{PercentileAboveLimit: math.NaN()}
	}
	return *a.Posterior
}

func (a *Assessment) fitCheck() FitCheck {
	if a.FitCheck == nil {
		return FitCheck{Statistic: math.NaN(), PValue: math.NaN()}
	}
	return *a.FitCheck
}

func (a *Assessment) decision() decision.Decision {
	if a.Decision == nil {
		return decision.Decision{}
	}
	return *a.Decision
}

func unknown() limit.Bounds {
	return limit.Bounds{Estimate: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
}
