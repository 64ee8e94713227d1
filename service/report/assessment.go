// Package report holds the one model of an answer and the forms in which people read it.
package report

import (
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// Caution stands under every answer.
const Caution = "A statistical judgment on the data supplied. The sampling strategy, local codes and limits, and a qualified " +
	"hygienist's judgment come first."

// Assessment is the answer about one group. Concentrations are in Unit. Parts that the readings do not determine are nil,
// single numbers that they do not determine are NaN.
type Assessment struct {
	Name  string
	Agent string
	Unit  reading.Unit
	// Limit is in Unit; nil when none was stated.
	Limit      *reading.Limit
	Sample     reading.Counts
	Fit        *Fit
	Percentile *Percentile
	Exceedance *Exceedance
	Posterior  *Posterior
	FitCheck   *FitCheck
	// DistributionFree is there when the lognormal was rejected or could not be fitted.
	DistributionFree *DistributionFree
	// Decision is by the rule asked for; nil without a limit.
	Decision *decision.Decision
	// Decisions is by every rule; one that could not be applied has no outcome, and its reason says why.
	Decisions []decision.Decision
	// LimitReduction is nil unless Limit was reduced for long shifts.
	LimitReduction *LimitReduction
	// Reassessment is nil unless the group was found compliant.
	Reassessment *decision.Reassessment
	// Dependence is nil when too few readings follow one another.
	Dependence *check.Dependence
	// Curves is nil unless asked for, and without a fit.
	Curves  *Curves
	Notes   []Note
	Methods []Method
	Caution string
}

// LimitReduction is the reduction of a limit for long shifts.
type LimitReduction struct {
	// Stated is the limit as stated, in the unit of the readings.
	Stated float64
	// Factor is what it was multiplied by, at most 1.
	Factor         float64
	Reason, Source string
}

// Fit is the fitted lognormal.
type Fit struct {
	GeometricMean              limit.Bounds
	GeometricStandardDeviation limit.Bounds
	ArithmeticMean             limit.Bounds
	// ArithmeticMeanML is the maximum-likelihood estimate of the arithmetic mean.
	ArithmeticMeanML float64
}

// Percentile is the concentration under which Fraction of the exposures lies.
type Percentile struct {
	Fraction, Confidence float64
	limit.Bounds
}

// Exceedance is the fraction of exposures above Limit.
type Exceedance struct {
	Limit, Confidence float64
	limit.Bounds
}

// Posterior holds probabilities about the percentile.
type Posterior struct {
	// Prior is the prior in words.
	Prior                string
	PercentileAboveLimit float64
	Bands                []Band
	// Influence is nil under the reference prior.
	Influence *PriorInfluence
	// NumericalError is the largest estimated error of a probability; 0 for closed forms.
	NumericalError float64
}

// PriorInfluence is what the reference prior would have answered. Both numbers are NaN when it has no answer.
type PriorInfluence struct {
	PercentileUpper, PercentileAboveLimit float64
	Text                                  string
}

// DistributionFree is what order statistics and counts tell, whatever the distribution.
type DistributionFree struct {
	PercentileLower, PercentileUpper limit.OrderLimit
	// Exceedance is nil without a limit.
	Exceedance *limit.CountedExceedance
}

// Band is a range of the percentile, as fractions of the limit, and its probability. Upper is +Inf for the last.
type Band struct {
	Lower, Upper, Probability float64
}

// FitCheck says how well a lognormal describes the readings. Statistic and PValue are NaN when only the plot could be made.
type FitCheck struct {
	Test              string
	Statistic, PValue float64
	Plot              []check.PlotPoint
}

// Severity tells how much a note should weigh.
type Severity uint8

const (
	// Information is good to know.
	Information Severity = iota + 1
	// Careful: read this before relying on the numbers.
	Careful
	// Warning: do not rely on the numbers without further work.
	Warning
)

// Note is something the reader must know.
type Note struct {
	Code     string
	Severity Severity
	Text     string
}

// Method says which formula and which publication gave a number.
type Method struct {
	Quantity, Method, Source string
}
