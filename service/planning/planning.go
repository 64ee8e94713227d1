// Package planning says how many samples would settle a question: the exact chance of each outcome of a rule for n future
// samples of an assumed exposure, the predictive chance of each outcome when k more samples join those already taken, and
// the number of people to sample so that one of the highest exposed is among them.
//
// Nothing here is simulated. The chances are noncentral t probabilities, normal order probabilities and one- or
// two-dimensional integrals by fixed rules, so the same question gives the same bits.
package planning

import (
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
)

// MaxSamples is the largest number of samples that is planned for.
const MaxSamples = 1000

// Chances are the probabilities of the three outcomes of a rule, each 0 to 1; they sum to 1.
type Chances struct {
	Compliant, NotCompliant, Undecided float64
}

// Settled is the chance of an outcome that is not Undecided.
func (c Chances) Settled() float64 { return c.Compliant + c.NotCompliant }

// undecided is certain when too few samples are taken for a rule.
func undecided() Chances { return Chances{Undecided: 1} }

// settle fills up to 1 with Undecided; the two chances were computed separately and may pass 1 by a rounding.
func settle(compliant, notCompliant float64) Chances {
	const rounding = 1e-13
	compliant, notCompliant = clamp(compliant), clamp(notCompliant)
	rest := 1 - compliant - notCompliant
	if rest < rounding {
		// A rule that always decides leaves nothing but the rounding of the two.
		rest = 0
	}
	return Chances{Compliant: compliant, NotCompliant: notCompliant, Undecided: rest}
}

func clamp(p float64) float64 { return max(0, min(1, p)) }

// Assumption is an exposure as the rules see it: a lognormal relative to the limit.
type Assumption struct {
	// score is (ln limit - mu)/sigma, the standard normal score of the limit.
	score float64
	// sigma is the standard deviation of ln exposure, greater than 0.
	sigma float64
}

// largestScore bounds the score of the limit; beyond it nothing is left to chance.
const largestScore = 1e6

// Assume is a lognormal exposure with the given geometric mean, in the unit of the limit, and geometric standard deviation,
// greater than 1. A fault of kind InvalidArgument names the field that is wrong.
func Assume(geometricMean, geometricStandardDeviation, limit float64) (Assumption, error) {
	switch {
	case !positive(geometricMean):
		return Assumption{}, fault.Invalid("geometricMean", "got %v, want a number greater than 0", geometricMean)
	case !positive(limit):
		return Assumption{}, fault.Invalid("limit.value", "got %v, want a number greater than 0", limit)
	}
	return assume(geometricStandardDeviation, func(sigma float64) float64 {
		return (math.Log(limit) - math.Log(geometricMean)) / sigma
	})
}

// fieldGSD is a name of the contract.
const fieldGSD = "geometricStandardDeviation"

// AssumeRatio is a lognormal exposure whose 95th percentile is the given multiple of the limit, greater than 0: 1 is the
// boundary of compliance.
func AssumeRatio(percentileToLimit, geometricStandardDeviation float64) (Assumption, error) {
	if !positive(percentileToLimit) {
		return Assumption{}, fault.Invalid("percentileToLimit", "got %v, want a number greater than 0", percentileToLimit)
	}
	return assume(geometricStandardDeviation, func(sigma float64) float64 {
		return score95() - math.Log(percentileToLimit)/sigma
	})
}

func assume(gsd float64, score func(sigma float64) float64) (Assumption, error) {
	sigma := math.Log(gsd)
	if !positive(sigma) {
		return Assumption{}, fault.Invalid(fieldGSD, "got %v, want a number greater than 1", gsd)
	}
	s := max(-largestScore, min(largestScore, score(sigma)))
	return Assumption{score: s, sigma: sigma}, nil
}

// positive says whether v is a finite number greater than 0.
func positive(v float64) bool { return v > 0 && v <= math.MaxFloat64 }

// Supported says whether the chances of a rule can be planned. A single shift is judged by the error of its measurement and
// has no number of samples to plan; the rule of group and subject rests on subjects, which a plan for one group has not.
func Supported(r decision.Rule) bool {
	switch r {
	case decision.EN689, decision.UpperLimit95, decision.Posterior, decision.MeanUpperLimit:
		return true
	default:
		return false
	}
}
