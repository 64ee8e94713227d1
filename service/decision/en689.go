package decision

import (
	"fmt"
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
		return NotCompliant, fmt.Sprintf("The largest result, %s, is above the limit, %s.", e.amount(e.Counts.Maximum), e.amount(e.Limit))
	}
	switch n := e.Counts.Readings; {
	case n < 3:
		return Undecided, fmt.Sprintf("No result is above the limit, %s, but the preliminary test takes at least 3 results and there %s; "+
			"take at least %d more.", e.amount(e.Limit), countOf(n), 3-n)
	case n < en689Statistic:
		return en689Preliminary(e, n)
	case e.Fit.Status != fit.Fitted:
		return Undecided, fmt.Sprintf("All %d results are %s, so the statistical test has no spread to work with; report more digits "+
			"or measure with a finer resolution.", n, e.amount(e.Counts.Maximum))
	}
	return en689Statistical(e)
}

func countOf(n int) string {
	if n == 1 {
		return "is 1"
	}
	return fmt.Sprintf("are %d", n)
}

// en689Preliminary: 3 results all below 0.1, 4 all below 0.15 or 5 all below 0.2 of the limit.
func en689Preliminary(e *Evidence, n int) (Outcome, string) {
	fraction := [...]float64{3: 0.1, 4: 0.15, 5: 0.2}[n]
	bound := fraction * e.Limit
	test := fmt.Sprintf("Preliminary test with %d results: all must be below %v of the limit, %v × %s = %s; the largest is %s",
		n, fraction, fraction, e.amount(e.Limit), e.amount(bound), e.amount(e.Counts.Maximum))
	if e.Counts.Maximum < bound {
		return Compliant, test + "."
	}
	return Undecided, fmt.Sprintf("%s. No result is above the limit; take at least %d more for the statistical test.", test, en689Statistic-n)
}

// en689Statistical compares UR = (ln L - mean)/s with the exact factor UT(n), not with a rounded table: the same as the
// upper 70 % limit of the 95th percentile, exp(mean + UT s), against L.
func en689Statistical(e *Evidence) (Outcome, string) {
	upper, err := e.percentileLimit(en689Fraction, en689Confidence)
	if err != nil {
		return NoOutcome, ""
	}
	f, logLimit := e.Fit, math.Log(e.Limit)
	reason := fmt.Sprintf("Statistical test with %d results: mean of ln result %s, standard deviation %s. UR = (ln %s - mean)/standard "+
		"deviation = %s against UT = %s for n = %d, so the upper 70 %% limit of the 95th percentile, exp(mean + UT × standard deviation) "+
		"= %s, is ", f.N, number(f.Mu), number(f.Sigma), number(e.Limit), number((logLimit-f.Mu)/f.Sigma),
		number((upper-f.Mu)/f.Sigma), f.N, e.amountOfLog(upper))
	if upper < logLimit {
		return Compliant, reason + "below the limit, " + e.amount(e.Limit) + "."
	}
	return NotCompliant, reason + "not below the limit, " + e.amount(e.Limit) + "."
}
