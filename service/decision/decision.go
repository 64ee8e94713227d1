// Package decision judges a group by published rules. Each rule is one file that holds its source, what it needs and its
// arithmetic in words; the table below is all that the rest of the service knows of them.
package decision

// Rule names a published rule.
type Rule uint8

const (
	// EN689 is the procedure of EN 689:2018, the default.
	EN689 Rule = iota + 1
	// UpperLimit95 compares the 95 % limits of the 95th percentile with the limit.
	UpperLimit95
	// Posterior compares the posterior probability that the 95th percentile exceeds the limit with 5 % and 95 %.
	Posterior
	// MeanUpperLimit compares Land's 95 % limits of the arithmetic mean with the limit.
	MeanUpperLimit
	// SingleShift judges one full-period sample with its coefficient of variation.
	SingleShift
	// GroupAndSubject judges the group and the chance that a subject's own 95th percentile exceeds the limit.
	GroupAndSubject
)

// Outcome is what a rule makes of a group.
type Outcome uint8

const (
	// NoOutcome: the rule could not be applied.
	NoOutcome Outcome = iota
	// Compliant: the rule's condition for compliance is met.
	Compliant
	// NotCompliant: the rule's condition for non-compliance is met.
	NotCompliant
	// Undecided: the readings settle neither.
	Undecided
)

// String returns the outcome in plain words.
func (o Outcome) String() string {
	switch o {
	case Compliant:
		return "compliant"
	case NotCompliant:
		return "not compliant"
	case Undecided:
		return "undecided"
	default:
		return "not judged"
	}
}

// Decision is the outcome of one rule with its arithmetic.
type Decision struct {
	Rule    Rule
	Outcome Outcome
	// Reason is the arithmetic in words and numbers.
	Reason string
	// Source is the publication of the rule.
	Source string
}

// rule is a row of the table.
type rule struct {
	id     Rule
	source string
	// decide returns NoOutcome when the rule cannot be applied to the evidence.
	decide func(*Evidence) (Outcome, string)
}

// table lists the rules in the order in which they are shown.
func table() [2]rule {
	return [...]rule{
		{EN689, en689Source, en689},
		{UpperLimit95, upperLimit95Source, upperLimit95},
	}
}

// Supported says whether Decide knows the rule.
func Supported(r Rule) bool {
	for _, row := range table() {
		if row.id == r {
			return true
		}
	}
	return false
}

// All returns the decision of every rule that could be applied, in the order of the table.
func All(e *Evidence) []Decision {
	rows := table()
	decisions := make([]Decision, 0, len(rows))
	for _, row := range rows {
		if outcome, reason := row.decide(e); outcome != NoOutcome {
			decisions = append(decisions, Decision{row.id, outcome, reason, row.source})
		}
	}
	return decisions
}
