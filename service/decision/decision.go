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
	id Rule
	// name is that of the contract without its prefix, title what people call the rule.
	name, title string
	// needs says what the rule takes, answers what its outcomes mean; both without a full stop.
	needs, answers string
	source         string
	// decide returns NoOutcome and a sentence when the rule cannot be applied to the evidence.
	decide func(*Evidence) (Outcome, string)
}

// table is all that the rest of the service knows of the rules, in the order in which they are shown. Each row stands in the
// file of its rule.
func table() [6]rule {
	return [...]rule{en689Rule(), upperLimit95Rule(), posteriorRule(), meanUpperLimitRule(), singleShiftRule(), groupAndSubjectRule()}
}

// row returns the row of a rule, empty for one that the table does not have.
func (r Rule) row() rule {
	for _, row := range table() {
		if row.id == r {
			return row
		}
	}
	return rule{title: "a rule unknown to this version"}
}

// Name is the rule's name in the contract without its prefix, such as UPPER_LIMIT_95_95; empty for a rule that this version
// does not know.
func (r Rule) Name() string { return r.row().name }

// Title is the rule as people call it.
func (r Rule) Title() string { return r.row().title }

// Needs says what the rule takes, without a full stop.
func (r Rule) Needs() string { return r.row().needs }

// Answers says what the rule's outcomes mean, without a full stop.
func (r Rule) Answers() string { return r.row().answers }

// Rules lists the rules in the order in which they are shown.
func Rules() []Rule {
	rows := table()
	rules := make([]Rule, len(rows))
	for i := range rows {
		rules[i] = rows[i].id
	}
	return rules
}

// All returns the decision of every rule in the order of the table. One that could not be applied has NoOutcome, and its reason
// says why.
func All(e *Evidence) []Decision {
	rows := table()
	mine := *e // The caller's evidence may serve others at the same time.
	mine.scratch = nil
	decisions := make([]Decision, 0, len(rows))
	for i := range rows {
		outcome, reason := rows[i].decide(&mine)
		if outcome != NoOutcome && e.LimitNote != "" {
			reason += " " + e.LimitNote
		}
		decisions = append(decisions, Decision{rows[i].id, outcome, reason, rows[i].source})
	}
	return decisions
}

// unsolved is the reason of a rule for which a number could not be computed to the accuracy promised.
const unsolved = "A number that the rule compares could not be computed to the accuracy promised."

// noFit is the reason of a rule that takes a fitted lognormal and has none.
func noFit(what string) (Outcome, string) {
	return Undecided, "No lognormal can be fitted, so " + what + " has no limits."
}
