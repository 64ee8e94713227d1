package assess

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// lognormalCheck returns the test of the lognormal and the points of its plot; nil when there is no spread to plot.
func lognormalCheck(f *fit.Fit, readings []reading.Reading) *report.FitCheck {
	if f.Values == nil {
		return checkPlot(readings)
	}
	if f.Status != fit.Fitted {
		return nil
	}
	w, p, err := check.ShapiroWilk(f.Logs)
	if err != nil {
		return &report.FitCheck{
			Test: "probability plot only; " + err.Error(), Statistic: math.NaN(), PValue: math.NaN(), Plot: check.ProbabilityPlot(f.Values),
		}
	}
	return &report.FitCheck{Test: "Shapiro-Wilk on ln reading", Statistic: w, PValue: p, Plot: check.ProbabilityPlot(f.Values)}
}

// checkPlot is the check with readings that have no value.
func checkPlot(readings []reading.Reading) *report.FitCheck {
	c := check.Plot(readings)
	if len(c.Points) == 0 {
		return nil
	}
	test := "correlation of the probability plot over the readings with a value"
	if math.IsNaN(c.Correlation) {
		test = "probability plot only; a correlation takes at least 3 readings with a value that differ"
	}
	return &report.FitCheck{Test: test, Statistic: c.Correlation, PValue: c.PValue, Plot: c.Points}
}

// rejected says that the lognormal is in question.
func rejected(a *report.Assessment) bool {
	// With fewer readings two that agree to their last digit are enough to fail the test.
	return a.FitCheck != nil && a.Sample.Readings >= few && a.FitCheck.PValue < poorFit
}

// distributionFree falls back on order statistics and counts where the lognormal was rejected or could not be fitted.
func distributionFree(a *report.Assessment, readings []reading.Reading, o Options) *report.DistributionFree {
	if a.Fit != nil && !rejected(a) {
		return nil
	}
	var d report.DistributionFree
	d.PercentileLower, d.PercentileUpper = limit.PercentileByRank(readings, o.Percentile, o.Confidence)
	if a.Limit != nil {
		e := limit.ExceedanceByCount(readings, a.Limit.Value, o.Confidence)
		d.Exceedance = &e
	}
	return &d
}
