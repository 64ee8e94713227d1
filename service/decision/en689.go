package decision

import (
	"math"

	"example.com/tailbound/service/fit"
)

const en689Source = "EN 689:2018, 5.5.2 and 5.5.3 (steps from memory); thresholds in the French order of 15 December 2009, " +
	"NOR MTST0924705A, annex 2"

// The statistical test of EN 689 asks for the upper 70 % limit of the 95th percentile from at least 6 results.
const (
	en689Fraction   = 0.95
	en689Confidence = 0.70
	en689Statistic  = 6
)

// en689 is the preliminary test on 3 to 5 results, then the statistical test on 6 or more.
func en689(e *Evidence) (Outcome, string) {
	if e.Counts.Maximum > e.Limit {
		return NotCompliant, e.prose().say("The largest result, ").stated(e.Counts.Maximum).
			say(", is above the limit, ").stated(e.Limit).say(".").String()
	}
	switch n := e.Counts.Readings; {
	case n < 3:
		return Undecided, e.prose().say("No result is above the limit, ").stated(e.Limit).
			say(", but the preliminary test takes at least 3 results; take at least ").count(3 - n).say(" more.").String()
	case n < en689Statistic:
		return en689Preliminary(e, n)
	case e.Fit.Status != fit.Fitted:
		return Undecided, e.prose().say("All ").count(n).say(" results are ").stated(e.Counts.Maximum).
			say(", so the statistical test has no spread to work with; report more digits or measure with a finer resolution.").String()
	}
	return en689Statistical(e)
}

// en689Preliminary: 3 results all below 0.1, 4 all below 0.15 or 5 all below 0.2 of the limit.
func en689Preliminary(e *Evidence, n int) (Outcome, string) {
	fraction := [...]float64{3: 0.1, 4: 0.15, 5: 0.2}[n]
	bound := fraction * e.Limit
	p := e.prose().say("Preliminary test with ").count(n).say(" results: all must be below ").fraction(fraction).
		say(" of the limit, ").fraction(fraction).say(" × ").stated(e.Limit).say(" = ").stated(bound).
		say("; the largest is ").stated(e.Counts.Maximum).say(".")
	if e.Counts.Maximum < bound {
		return Compliant, p.String()
	}
	return Undecided, p.say(" No result is above the limit; take at least ").count(en689Statistic - n).
		say(" more for the statistical test.").String()
}

// en689Statistical compares UR = (ln L - mean)/s with the exact factor UT(n), not with a rounded table: the same as the
// upper 70 % limit of the 95th percentile, exp(mean + UT s), against L.
func en689Statistical(e *Evidence) (Outcome, string) {
	upper, err := e.percentileLimit(en689Fraction, en689Confidence)
	if err != nil {
		return NoOutcome, ""
	}
	f, logLimit := e.Fit, math.Log(e.Limit)
	p := e.prose().say("Statistical test with ").count(f.N).say(" results: mean of ln result ").number(f.Mu).
		say(", standard deviation ").number(f.Sigma).say(". UR = (ln ").asWritten(e.Limit).say(" - mean)/standard deviation = ").
		number((logLimit - f.Mu) / f.Sigma).say(" against UT = ").number((upper - f.Mu) / f.Sigma).say(" for n = ").count(f.N).
		say(", so the upper 70 % limit of the 95th percentile, exp(mean + UT × standard deviation) = ").amountOfLog(upper)
	if upper < logLimit {
		return Compliant, p.say(", is below the limit, ").stated(e.Limit).say(".").String()
	}
	return NotCompliant, p.say(", is not below the limit, ").stated(e.Limit).say(".").String()
}
