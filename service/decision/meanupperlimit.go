package decision

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
)

const meanUpperLimitSource = "Land 1971, Annals of Mathematical Statistics 42:1187 (from memory); limits of the mean for agents whose " +
	"harm follows the long-term mean: common practice"

// MeanConfidence is that of each limit of the arithmetic mean in MeanUpperLimit, one-sided.
const MeanConfidence = 0.95

func meanUpperLimitRule() rule {
	return rule{
		id: MeanUpperLimit, name: "MEAN_UPPER_LIMIT", title: "limits of the arithmetic mean", source: meanUpperLimitSource,
		decide: meanUpperLimit,
		needs:  "a fitted lognormal, and an agent whose harm follows the long-term mean",
		answers: "compliant when the upper 95 % limit of the arithmetic mean is below the limit, not compliant when the lower one is " +
			"above it, else undecided",
	}
}

// meanUpperLimit compares the 95 % limits of the arithmetic mean with the limit: Land's exact ones where every result has a
// value. A limit that no float64 holds is above every limit.
func meanUpperLimit(e *Evidence) (Outcome, string) {
	if e.Fit.Status != fit.Fitted {
		return noFit("the arithmetic mean")
	}
	mean := e.Mean
	if mean == nil {
		bounds, err := limit.ArithmeticMean(e.Fit, MeanConfidence)
		if err != nil {
			return NoOutcome, unsolved
		}
		mean = &bounds
	}
	lower, upper := boundless(mean.Lower), boundless(mean.Upper)
	p := e.shape().say(". The arithmetic mean has the 95 % limits ").amount(lower).say(" and ").amount(upper)
	if e.Fit.Exact {
		p.say(", by Land's method. ")
	} else {
		p.say(", from the ").say(e.Fit.Source()).say(". ")
	}
	switch {
	case upper < e.Limit:
		return Compliant, p.say("The upper one is below the limit, ").stated(e.Limit).say(".").say(meanScope).String()
	case lower > e.Limit:
		return NotCompliant, p.say("The lower one is above the limit, ").stated(e.Limit).say(".").say(meanScope).String()
	}
	return Undecided, p.say("The limit, ").stated(e.Limit).say(", lies between them.").say(meanScope).String()
}

// boundless turns what no float64 holds into infinity.
func boundless(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(1)
	}
	return v
}

// meanScope says for whom the answer holds.
const meanScope = " This holds for an agent whose harm follows the long-term mean, and says nothing of single shifts."
