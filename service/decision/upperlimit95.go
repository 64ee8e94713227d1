package decision

import (
	"example.com/tailbound/service/fit"
)

const upperLimit95Source = "One-sided tolerance limits of a normal distribution, exact factor from the noncentral t: " +
	"NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3"

func upperLimit95Rule() rule {
	return rule{
		id: UpperLimit95, name: "UPPER_LIMIT_95_95", title: "95 % limits of the 95th percentile", source: upperLimit95Source,
		decide: upperLimit95,
		needs:  "a fitted lognormal",
		answers: "compliant when the upper 95 % limit of the 95th percentile is below the limit, not compliant when the lower one is above " +
			"it, else undecided",
	}
}

// upperLimit95 is compliant when the upper 95 % limit of the 95th percentile is below the limit, not compliant when the
// lower one is above it.
func upperLimit95(e *Evidence) (Outcome, string) {
	if e.Fit.Status != fit.Fitted {
		return noFit("the 95th percentile")
	}
	lower, err := e.percentileLimit(0.95, 0.05)
	if err != nil {
		return NoOutcome, unsolved
	}
	upper, err := e.percentileLimit(0.95, 0.95)
	if err != nil {
		return NoOutcome, unsolved
	}
	p := e.shape().say(". The 95th percentile has the 95 % limits exp(mean + ").number(e.factor(lower)).
		say(" × standard deviation) = ").amountOfLog(lower).say(" and exp(mean + ").number(e.factor(upper)).
		say(" × standard deviation) = ").amountOfLog(upper)
	if !e.Fit.Exact {
		p.say(", from the ").say(e.Fit.Source())
	}
	p.say(". ")
	switch {
	case upper < e.logLimit():
		return Compliant, p.say("The upper one is below the limit, ").stated(e.Limit).say(".").String()
	case lower > e.logLimit():
		return NotCompliant, p.say("The lower one is above the limit, ").stated(e.Limit).say(".").String()
	}
	return Undecided, p.say("The limit, ").stated(e.Limit).say(", lies between them.").String()
}
