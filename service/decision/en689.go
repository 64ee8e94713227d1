package decision

import (
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

const en689Source = "EN 689:2018, 5.5.2 and 5.5.3 (steps from memory); thresholds in the French order of 15 December 2009, " +
	"NOR MTST0924705A, annex 2"

func en689Rule() rule {
	return rule{
		id: EN689, name: "EN689", title: "EN 689:2018", source: en689Source, decide: en689,
		needs: "at least 3 results; at least 6 that differ for the statistical test",
		answers: "compliant when 3 to 5 results all lie far below the limit, or when the upper 70 % limit of the 95th percentile of 6 or " +
			"more is below it; not compliant when a result is above it or that limit is not below it",
	}
}

// The statistical test of EN 689 asks for the upper 70 % limit of the 95th percentile from at least 6 results.
const (
	en689Fraction   = 0.95
	en689Confidence = 0.70
	en689Statistic  = 6
)

// en689 is the preliminary test on 3 to 5 results, then the statistical test on 6 or more.
func en689(e *Evidence) (Outcome, string) {
	if top, found := e.over(); found {
		return NotCompliant, e.prose().say("The largest result, ").result(top).say(", is above the limit, ").stated(e.Limit).say(".").String()
	}
	switch n := e.Counts.Readings; {
	case n < 3:
		return Undecided, e.prose().say("No result is known to be above the limit, ").stated(e.Limit).
			say(", but the preliminary test takes at least 3 results; take at least ").count(3 - n).say(" more.").String()
	case n < en689Statistic:
		return en689Preliminary(e, n)
	case e.Fit.Status != fit.Fitted:
		return en689WithoutFit(e, n)
	}
	return en689Statistical(e)
}

// en689Fractions are those of the limit that 3, 4 or 5 results must all be below.
var en689Fractions = [...]float64{3: 0.1, 4: 0.15, 5: 0.2}

// en689Preliminary: 3 results all below 0.1, 4 all below 0.15 or 5 all below 0.2 of the limit.
func en689Preliminary(e *Evidence, n int) (Outcome, string) {
	passed, p := e.allUnder(e.prose().say("Preliminary test with ").count(n).say(" results"), en689Fractions[n])
	if passed {
		return Compliant, p.String()
	}
	return Undecided, p.say(" No result is known to be above the limit; take at least ").count(en689Statistic - n).
		say(" more for the statistical test.").String()
}

// en689WithoutFit judges 6 or more results that no lognormal can be fitted to, all equal or nearly all below their reporting
// limits. Any 5 of them pass the preliminary test when all of them are below the fraction for 5.
func en689WithoutFit(e *Evidence, n int) (Outcome, string) {
	passed, p := e.allUnder(e.prose().say("No lognormal can be fitted to the ").count(n).
		say(" results, so the preliminary test for 5 results stands in for the statistical test"), en689Fractions[5])
	if passed {
		return Compliant, p.String()
	}
	return Undecided, p.say(" Report more digits, lower the reporting limit, or take more results that have a value.").String()
}

// allUnder adds the test of all results against a fraction of the limit.
func (e *Evidence) allUnder(p *prose, fraction float64) (bool, *prose) {
	bound, top := fraction*e.Limit, e.largest()
	p.say(": all must be below ").fraction(fraction).say(" of the limit, ").fraction(fraction).say(" × ").stated(e.Limit).
		say(" = ").stated(bound).say("; the largest is ").result(top).say(".")
	if under(top, bound) {
		return true, p
	}
	if top.Kind == reading.Below {
		p.say(" Its reporting limit is too high for the test.")
	}
	return false, p
}

// en689Statistical compares UR = (ln L - mean)/s with the exact factor UT(n), not with a rounded table: the same as the
// upper 70 % limit of the 95th percentile, exp(mean + UT s), against L. With results without a value UT is what the posterior
// makes it.
func en689Statistical(e *Evidence) (Outcome, string) {
	upper, err := e.percentileLimit(en689Fraction, en689Confidence)
	if err != nil {
		return NoOutcome, unsolved
	}
	p := e.shape().say(". UR = (ln ").asWritten(e.Limit).say(" - mean)/standard deviation = ").number(e.factor(e.logLimit())).
		say(" against UT = ").number(e.factor(upper))
	if e.Fit.Exact {
		p.say(" for n = ").count(e.Fit.N)
	} else {
		p.say(" from the ").say(e.Fit.Source())
	}
	p.say(", so the upper 70 % limit of the 95th percentile, exp(mean + UT × standard deviation) = ").amountOfLog(upper)
	if upper < e.logLimit() {
		return Compliant, p.say(", is below the limit, ").stated(e.Limit).say(".").String()
	}
	return NotCompliant, p.say(", is not below the limit, ").stated(e.Limit).say(".").String()
}
