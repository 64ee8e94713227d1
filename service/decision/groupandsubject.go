package decision

import (
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/variance"
)

const groupAndSubjectSource = "BOHS and NVvA 2011, Testing Compliance with Occupational Exposure Limits for Airborne Substances (numbers " +
	"from memory)"

// The numbers of the rule.
const (
	groupFraction   = 0.95
	groupConfidence = 0.70
	groupResults    = 9
	subjectChance   = 0.20
)

func groupAndSubjectRule() rule {
	return rule{
		id: GroupAndSubject, name: "GROUP_AND_SUBJECT", title: "group and subject", source: groupAndSubjectSource, decide: groupAndSubject,
		needs: "the subject of every reading, at least 2 subjects with repeated results among them, and at least 9 results",
		answers: "compliant when the upper 70 % limit of the group's 95th percentile is below the limit and the chance that a subject's own " +
			"95th percentile exceeds it is below 20 %, else not compliant",
	}
}

// groupAndSubject takes the group test and then that of the subjects, whose chance rests on the standard deviations between and
// within subjects, by the restricted likelihood. The group test takes results as independent draws, as the guidance does; where
// subjects differ that understates what is not known of the group, and the simulation test says by how much. The guidance's screening by 3 results, all below 0.1 of the limit, is EN 689's.
func groupAndSubject(e *Evidence) (Outcome, string) {
	subjects := map[string]int{}
	for i := range e.Readings {
		subjects[e.Readings[i].Subject]++
	}
	switch n := len(e.Readings); {
	case subjects[""] > 0:
		return NoOutcome, "It takes the subject of every reading."
	case len(subjects) < 2 || len(subjects) == n:
		return NoOutcome, "It takes at least 2 subjects, with repeated results of some."
	case n < groupResults:
		return Undecided, e.prose().say("The group test takes at least ").count(groupResults).say(" results; take at least ").
			count(groupResults - n).say(" more.").String()
	case e.Fit.Status != fit.Fitted:
		return noFit("the 95th percentile")
	}
	upper, err := e.percentileLimit(groupFraction, groupConfidence)
	if err != nil {
		return NoOutcome, unsolved
	}
	p := e.shape().say(". The upper 70 % limit of the group's 95th percentile, exp(mean + ").number(e.factor(upper)).
		say(" × standard deviation) = ").amountOfLog(upper)
	if upper >= e.logLimit() {
		return NotCompliant, p.say(", is not below the limit, ").stated(e.Limit).say(".").String()
	}
	return e.subjects(p.say(", is below the limit, ").stated(e.Limit).say("."), len(subjects))
}

// subjects adds the test of the subjects.
func (e *Evidence) subjects(p *prose, n int) (Outcome, string) {
	v, err := variance.Components(e.Readings, func(r reading.Reading) string { return r.Subject }, "subject")
	if err != nil {
		return NoOutcome, "The spread between the subjects is not known: " + err.Error() + "."
	}
	score := numeric.NormalQuantile(groupFraction)
	chance := v.Above(score, e.logLimit())
	p.say(" Between the ").count(n).say(" subjects ln result has the standard deviation ").number(v.Between).say(", within them ").
		number(v.Within).say(", about the mean ").number(v.Mu).say(". The chance that a subject's own 95th percentile exceeds the limit")
	if v.Between > 0 {
		p.say(", 1 - Phi((ln ").asWritten(e.Limit).say(" - mean - 1.645 × within)/between) = 1 - Phi(").
			number((e.logLimit() - v.Mu - score*v.Within) / v.Between).say(") = ").number(chance)
	} else {
		p.say(" with no spread between them, ").number(chance)
	}
	if chance < subjectChance {
		return Compliant, p.say(", is below 0.2.").String()
	}
	return NotCompliant, p.say(", is not below 0.2.").String()
}
