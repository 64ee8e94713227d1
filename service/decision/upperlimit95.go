package decision

import (
	"fmt"
	"math"

	"example.com/tailbound/service/fit"
)

const upperLimit95Source = "One-sided tolerance limits of a normal distribution, exact factor from the noncentral t: " +
	"NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3"

// upperLimit95 is compliant when the upper 95 % limit of the 95th percentile is below the limit, not compliant when the
// lower one is above it.
func upperLimit95(e *Evidence) (Outcome, string) {
	if e.Fit.Status != fit.Fitted {
		return Undecided, "Limits of the 95th percentile take at least 2 results that differ."
	}
	lower, err := e.percentileLimit(0.95, 0.05)
	if err != nil {
		return NoOutcome, ""
	}
	upper, err := e.percentileLimit(0.95, 0.95)
	if err != nil {
		return NoOutcome, ""
	}
	f, logLimit := e.Fit, math.Log(e.Limit)
	reason := fmt.Sprintf("%d results: mean of ln result %s, standard deviation %s. The 95th percentile has the 95 %% limits "+
		"exp(mean + %s × standard deviation) = %s and exp(mean + %s × standard deviation) = %s. ",
		f.N, number(f.Mu), number(f.Sigma), number((lower-f.Mu)/f.Sigma), e.amountOfLog(lower), number((upper-f.Mu)/f.Sigma), e.amountOfLog(upper))
	switch {
	case upper < logLimit:
		return Compliant, reason + "The upper one is below the limit, " + e.amount(e.Limit) + "."
	case lower > logLimit:
		return NotCompliant, reason + "The lower one is above the limit, " + e.amount(e.Limit) + "."
	}
	return Undecided, reason + "The limit, " + e.amount(e.Limit) + ", lies between them."
}
