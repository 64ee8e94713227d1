package decision

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
)

const posteriorSource = "A decision on the posterior probability of the 95th percentile, Gelman et al., Bayesian Data Analysis " +
	"(from memory); 5 % and 95 % are common practice"

// What the rule holds to be improbable and probable.
const (
	posteriorFraction   = 0.95
	posteriorImprobable = 0.05
	posteriorProbable   = 0.95
)

func posteriorRule() rule {
	return rule{
		id: Posterior, name: "POSTERIOR", title: "posterior probability", source: posteriorSource, decide: posteriorProbability,
		needs: "a posterior of the lognormal",
		answers: "compliant when the probability that the 95th percentile exceeds the limit is at most 5 %, not compliant when it is at " +
			"least 95 %, else undecided",
	}
}

// posteriorProbability compares the probability that the 95th percentile exceeds the limit with 5 % and 95 %. Where every result has a
// value and the prior is the reference one, that is the same as the 95 % limits of the percentile against the limit.
func posteriorProbability(e *Evidence) (Outcome, string) {
	switch {
	case e.Fit.Status != fit.Fitted:
		return Undecided, "No lognormal can be fitted, so there is no probability."
	case e.Fit.Posterior == nil:
		return NoOutcome, "The calibrated limits were found without a posterior, which these readings do not determine."
	}
	above := e.Fit.Posterior.Above(numeric.NormalQuantile(posteriorFraction), e.logLimit())
	if math.IsNaN(above) {
		return NoOutcome, "The probability could not be found to the accuracy promised."
	}
	p := e.shape().say(". The probability that the 95th percentile exceeds the limit, ").stated(e.Limit).say(", is ").number(above)
	if e.Fit.Calibrated() {
		p.say(", from the posterior under the reference prior")
	} else {
		p.say(", from the ").say(e.Fit.Source())
	}
	switch {
	case above <= posteriorImprobable:
		return Compliant, p.say(", at most 0.05.").String()
	case above >= posteriorProbable:
		return NotCompliant, p.say(", at least 0.95.").String()
	}
	return Undecided, p.say(", between 0.05 and 0.95.").String()
}
