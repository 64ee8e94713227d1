package assess

import (
	"fmt"
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/report"
)

// few is the number of readings under which the reader is told how little they bear: the count from which EN 689 allows
// its statistical test.
const few = 6

// poorFit is the p-value under which the lognormal is called in question (common practice).
const poorFit = 0.05

// wideSpread is the geometric standard deviation above which a group is often a mixture (EN 689:2018, Annex E, from memory).
const wideSpread = 3

// notes says what the reader must know, in a fixed order.
func notes(a *report.Assessment, f *fit.Fit) []report.Note {
	var out []report.Note
	add := func(code string, severity report.Severity, format string, args ...any) {
		out = append(out, report.Note{Code: code, Severity: severity, Text: fmt.Sprintf(format, args...)})
	}
	if a.Limit == nil {
		add("no-limit", report.Careful, "No limit was stated, so the group is described but not judged.")
	}
	countNotes(f, add)
	if a.Fit != nil {
		fitNotes(a, add)
	}
	return out
}

type adder func(code string, severity report.Severity, format string, args ...any)

// countNotes speaks of how many readings there are and whether they differ.
func countNotes(f *fit.Fit, add adder) {
	switch {
	case f.Status == fit.TooFew:
		add("one-reading", report.Warning, "One reading tells nothing of the spread: no lognormal is fitted and no limit of a "+
			"percentile can be given; take at least 2, better %d.", few)
	case f.Status == fit.NoSpread:
		add("no-spread", report.Warning, "All %d readings are equal, so the spread is smaller than their resolution can show: no "+
			"lognormal is fitted; report more digits or measure with a finer resolution.", f.N)
	case f.N < few:
		add("few-readings", report.Careful, "With %d readings the limits are wide and the lognormal can hardly be checked; %d or more "+
			"say much more.", f.N, few)
	}
}

// fitNotes speaks of how well the lognormal fits and of numbers that could not be given.
func fitNotes(a *report.Assessment, add adder) {
	// With fewer readings two that agree to their last digit are enough to fail the test.
	if c := a.FitCheck; c != nil && a.Sample.Readings >= few && c.PValue < poorFit {
		add("poor-fit", report.Warning, "The readings do not look lognormal (%s, p = %.2g): look at the probability plot for two groups "+
			"in one or an odd reading before relying on the limits.", c.Test, c.PValue)
	}
	if gsd := a.Fit.GeometricStandardDeviation.Estimate; gsd > wideSpread || math.IsNaN(gsd) {
		add("wide-spread", report.Careful, "The geometric standard deviation is above %d: the group may hold unlike exposures; check "+
			"whether it should be divided.", wideSpread)
	}
	if beyondNumbers(a) {
		add("beyond-numbers", report.Careful, "Some estimates or limits are too large to be represented and are left out.")
	}
}

// beyondNumbers says whether a part of the answer left the range of a float64.
func beyondNumbers(a *report.Assessment) bool {
	for _, b := range [...]float64{
		a.Fit.GeometricMean.Lower, a.Fit.GeometricMean.Upper, a.Fit.GeometricStandardDeviation.Upper,
		a.Fit.ArithmeticMean.Estimate, a.Fit.ArithmeticMean.Lower, a.Fit.ArithmeticMean.Upper, a.Fit.ArithmeticMeanML,
		a.Percentile.Estimate, a.Percentile.Lower, a.Percentile.Upper,
	} {
		if math.IsNaN(b) {
			return true
		}
	}
	return false
}
