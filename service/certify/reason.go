package certify

import (
	"math"
	"strings"
)

// Reason is why a coverage departs from the confidence. A departure can have several.
type Reason uint8

const (
	// ByPrior: the prior 1/sigma matches the exact limits when nothing is censored, and no longer when something is.
	ByPrior Reason = 1 << iota
	// BySelection: the samples that give no limits differ from the others, so that among the others more than the share promised,
	// or less, cover.
	BySelection
	// BySteps: the quantity lies near a place where reports change, or is the spread of readings censored at both ends, so that nearly
	// all that the readings say of it is how many fall on either side: a count, which moves in steps.
	BySteps
	// ByFewValues: so few readings have a value that the approximation, exact in the limit of many, is coarse.
	ByFewValues
	// ByChance: the departure is beyond the tolerance by less than two standard errors of the simulation.
	ByChance
)

// reasons are in the order in which they are listed, with their names in the table.
var reasons = []struct {
	reason Reason
	name   string
}{
	{ByPrior, "prior"}, {BySelection, "selection"}, {BySteps, "steps"}, {ByFewValues, "few values"}, {ByChance, "chance"},
}

// String lists the reasons.
func (r Reason) String() string {
	var names []string
	for _, x := range reasons {
		if r&x.reason != 0 {
			names = append(names, x.name)
		}
	}
	return strings.Join(names, ", ")
}

const (
	// selective is the share of samples with limits under which selection counts.
	selective = 0.99
	// stepReach is how near to a change of reports a quantity is affected by its steps, in standard deviations, and stepReadings up to
	// which size of the group.
	stepReach, stepReadings = 0.5, 30
	// fewValues is the expected number of readings with a value under which they are few.
	fewValues = 7
)

// Departs says whether a coverage departs by more than Tolerance.
func (r *Row) Departs(s Side) bool { return math.Abs(r.Departure(s)) > Tolerance }

// Reasons explains the departure of one limit; none is listed where there is no departure.
func (r *Row) Reasons(s Side) Reason {
	if !r.Departs(s) {
		return 0
	}
	var out Reason
	d := r.Design
	if r.Method == Posterior && d.Reporting != Complete {
		out |= ByPrior
	}
	if float64(r.Given) < selective*float64(r.Samples) {
		out |= BySelection
	}
	if r.nearEdge() {
		out |= BySteps
	}
	if float64(d.Readings)*(1-d.Censored) < fewValues {
		out |= ByFewValues
	}
	if math.Abs(r.Departure(s)) < Tolerance+2*r.Error(s) {
		out |= ByChance
	}
	return out
}

func (r *Row) nearEdge() bool {
	if r.Design.Readings > stepReadings {
		return false
	}
	if r.Quantity == GeometricStandardDeviation {
		return r.Design.Reporting == OverRange
	}
	place := r.Quantity.place(math.Log(r.GSD))
	for _, e := range r.Design.edges() {
		if math.Abs(place-e) < stepReach {
			return true
		}
	}
	return false
}
