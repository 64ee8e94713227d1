package assess

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// few is the number of readings under which the reader is told how little they bear: the count from which EN 689 allows
// its statistical test.
const few = 6

// poorFit is the p-value under which the lognormal is called in question (common practice).
const poorFit = 0.05

// wideSpread is the geometric standard deviation above which a group is often a mixture (EN 689:2018, Annex E, from memory).
const wideSpread = 3

// notes says what the reader must know, after what is known already, in a fixed order.
func notes(known []report.Note, a *report.Assessment, f *fit.Fit, readings []reading.Reading) []report.Note {
	out := known
	add := teach(&out)
	if a.Limit == nil {
		add("no-limit", report.Careful, "No limit was stated, so the group is described but not judged.")
	}
	if r := a.LimitReduction; r != nil {
		add("reduced-limit", report.Careful, "%s", r.Reason)
	}
	countNotes(f, add)
	if unknown := unvalued(readings); 2*unknown > f.N && f.Status == fit.Fitted {
		add("much-censored", report.Careful, "%d of %d readings have no value: the answer leans on the lognormal where nothing was "+
			"seen; a lower reporting limit says more than more readings.", unknown, f.N)
	}
	if a.Fit != nil {
		fitNotes(a, add)
	}
	if doubtful(a) {
		hintNotes(readings, add)
	}
	if d := a.DistributionFree; d != nil {
		distributionFreeNote(a, d, add)
	}
	return out
}

// remarks are the notes that come with the readings.
func remarks(g reading.Group) []report.Note {
	var out []report.Note
	for _, text := range g.Remarks {
		out = append(out, report.Note{Code: "remark", Severity: report.Careful, Text: text})
	}
	return out
}

// doubtful says whether to look for what is odd: not in few readings, nor where the lognormal fits well, since an odd reading or
// a gap at 1 % seldom leaves that intact.
func doubtful(a *report.Assessment) bool {
	const goodFit = 0.1
	return a.Sample.Readings >= few && (a.FitCheck == nil || !(a.FitCheck.PValue > goodFit))
}

// adder adds a note.
type adder func(code string, severity report.Severity, format string, args ...any)

// countNotes speaks of how many readings there are, how many have a value, and whether they differ.
func countNotes(f *fit.Fit, add adder) {
	switch {
	case f.N == 1:
		add("one-reading", report.Warning, "One reading tells nothing of the spread: no lognormal is fitted and no limit of a "+
			"percentile can be given; take at least 2, better %d.", few)
	case f.Status == fit.NoSpread:
		add("no-spread", report.Warning, "All %d readings are equal, so the spread is smaller than their resolution can show: no "+
			"lognormal is fitted; report more digits or measure with a finer resolution.", f.N)
	case f.Status == fit.Undetermined:
		add("undetermined", report.Warning, "No lognormal is fitted: %s.", f.Why)
	case f.N < few:
		add("few-readings", report.Careful, "With %d readings the limits are wide and the lognormal can hardly be checked; %d or more "+
			"say much more.", f.N, few)
	}
}

// unvalued counts the readings that say little: an average between close bounds, as a log with a few minutes under the detection
// limit gives, is as good as a value. The factor of 2 is our own.
func unvalued(readings []reading.Reading) int {
	const near = 2
	n := 0
	for _, r := range readings {
		if r.Kind != reading.Detected && !(r.Upper <= near*r.Lower) {
			n++
		}
	}
	return n
}

// fitNotes speaks of how well the lognormal fits and of numbers that could not be given.
func fitNotes(a *report.Assessment, add adder) {
	if rejected(a) {
		add("poor-fit", report.Warning, "The readings do not look lognormal (%s, p = %.2g): look at the probability plot for two groups "+
			"in one or an odd reading before relying on the limits.", a.FitCheck.Test, a.FitCheck.PValue)
	}
	if gsd := a.Fit.GeometricStandardDeviation.Estimate; gsd > wideSpread || math.IsNaN(gsd) {
		add("wide-spread", report.Careful, "The geometric standard deviation is above %d: the group may hold unlike exposures; check "+
			"whether it should be divided.", wideSpread)
	}
	if beyondNumbers(a) {
		add("beyond-numbers", report.Careful, "Some estimates or limits are too large to be represented and are left out.")
	}
	if p := a.Posterior; p != nil && p.Influence != nil {
		add("prior", report.Careful, "The prior is the caller's judgment: %s. %s", p.Prior, p.Influence.Text)
	}
}

// hintNotes points at readings that a sound lognormal group seldom shows. Nothing is ever removed.
func hintNotes(readings []reading.Reading, add adder) {
	for _, h := range check.Hints(readings) {
		switch h.Kind {
		case check.HighReading:
			add("high-reading", report.Careful, "The reading %s lies further up than the others foretell (chance %.2g): check the sample, "+
				"but leave it out only for a reason found outside the numbers.", reading.Stated(h.Upper), h.Probability)
		case check.LowReading:
			add("low-reading", report.Careful, "The reading %s lies further down than the others foretell (chance %.2g): check the sample, "+
				"but leave it out only for a reason found outside the numbers.", reading.Stated(h.Lower), h.Probability)
		case check.TwoGroups:
			add("two-groups", report.Careful, "Between %s and %s there is a gap that one lognormal group seldom shows (chance %.2g): the "+
				"readings may be two groups in one.", reading.Stated(h.Lower), reading.Stated(h.Upper), h.Probability)
		}
	}
}

// distributionFreeNote says what holds without a lognormal.
func distributionFreeNote(a *report.Assessment, d *report.DistributionFree, add adder) {
	if d.PercentileUpper.Rank == 0 {
		add("distribution-free", report.Information, "Without a lognormal an upper limit of the percentile takes at least %d readings.",
			d.PercentileUpper.Needed)
		return
	}
	add("distribution-free", report.Information, "Without a lognormal the upper limit of the percentile is reading number %d of %d in "+
		"ascending order.", d.PercentileUpper.Rank, a.Sample.Readings)
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
