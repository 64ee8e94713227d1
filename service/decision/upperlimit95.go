package decision

import (
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
	p := e.prose().count(f.N).say(" results: mean of ln result ").number(f.Mu).say(", standard deviation ").number(f.Sigma).
		say(". The 95th percentile has the 95 % limits exp(mean + ").number((lower - f.Mu) / f.Sigma).
		say(" × standard deviation) = ").amountOfLog(lower).say(" and exp(mean + ").number((upper - f.Mu) / f.Sigma).
		say(" × standard deviation) = ").amountOfLog(upper).say(". ")
	switch {
	case upper < logLimit:
		return Compliant, p.say("The upper one is below the limit, ").stated(e.Limit).say(".").String()
	case lower > logLimit:
		return NotCompliant, p.say("The lower one is above the limit, ").stated(e.Limit).say(".").String()
	}
	return Undecided, p.say("The limit, ").stated(e.Limit).say(", lies between them.").String()
}
