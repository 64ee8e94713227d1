package planning

import (
	"errors"
	"slices"
	"strconv"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
)

// Range is a range of numbers of samples, both ends included.
type Range struct{ Lower, Upper int }

// check refuses a range outside 1 to MaxSamples.
func (r Range) check() error {
	switch {
	case r.Lower < 1 || r.Lower > MaxSamples:
		return fault.Invalid("samplesLower", "got %d, want 1 to %d", r.Lower, MaxSamples)
	case r.Upper < r.Lower || r.Upper > MaxSamples:
		return fault.Invalid("samplesUpper", "got %d, want %d to %d", r.Upper, r.Lower, MaxSamples)
	}
	return nil
}

// Row is the chance of each outcome with one number of samples.
type Row struct {
	Samples int
	Chances
}

// Plan returns the exact chance of each outcome for every number of samples of the range.
func (p *Planner) Plan(rule decision.Rule, a Assumption, r Range) ([]Row, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	rows := make([]Row, 0, r.Upper-r.Lower+1)
	for n := r.Lower; n <= r.Upper; n++ {
		c, err := p.Chances(rule, a, n)
		if err != nil {
			return nil, err
		}
		rows = append(rows, Row{n, c})
	}
	return rows, nil
}

// Aim is the outcome that a plan is to reach.
type Aim uint8

const (
	// Settle wants either of the outcomes Compliant and NotCompliant.
	Settle Aim = iota
	// Comply wants the outcome Compliant.
	Comply
	// Refuse wants the outcome NotCompliant.
	Refuse
)

// of is the chance that the aim is reached.
func (a Aim) of(c Chances) float64 {
	switch a {
	case Comply:
		return c.Compliant
	case Refuse:
		return c.NotCompliant
	default:
		return c.Settled()
	}
}

// Needed is the answer to "how many".
type Needed struct {
	// Samples is the smallest number of the rows whose chance is at least the wanted one; 0 when none is.
	Samples int
	// Lasting is the smallest number from which on every row has at least the wanted chance; 0 when the last has not. It is
	// larger than Samples where a chance falls again: under EN 689 from 5 samples to 6, where another test begins, and with
	// many samples, one of which will sooner or later be above the limit.
	Lasting int
	// Best is the largest chance of the rows and BestSamples the smallest number that has it.
	Best        float64
	BestSamples int
}

// Smallest finds the numbers of samples, of ascending rows, that reach the aim with the wanted chance, 0 to 1.
func Smallest(rows []Row, aim Aim, wanted float64) Needed {
	var n Needed
	for _, row := range rows {
		chance := aim.of(row.Chances)
		if n.BestSamples == 0 || chance > n.Best {
			n.Best, n.BestSamples = chance, row.Samples
		}
		switch {
		case chance < wanted:
			n.Lasting = 0
		case n.Samples == 0:
			n.Samples, n.Lasting = row.Samples, row.Samples
		case n.Lasting == 0:
			n.Lasting = row.Samples
		}
	}
	return n
}

// MaxRows bounds the rows of all curves of a Grid together: 400 pairs of 60 numbers of samples.
const MaxRows = 24_000

// Grid asks for a plan at every pair of an assumed ratio of the true 95th percentile to the limit and an assumed geometric
// standard deviation.
type Grid struct {
	PercentileToLimit          []float64
	GeometricStandardDeviation []float64
	Samples                    Range
	Aim                        Aim
	// Wanted is the chance, 0 to 1, with which the aim is to be reached.
	Wanted float64
}

// Curve is the plan at one pair of a Grid.
type Curve struct {
	PercentileToLimit, GeometricStandardDeviation float64

	Rows   []Row
	Needed Needed
}

// Curves returns a curve for each pair, the geometric standard deviations in the outer order.
func (p *Planner) Curves(rule decision.Rule, g *Grid) ([]Curve, error) {
	pairs := len(g.PercentileToLimit) * len(g.GeometricStandardDeviation)
	switch {
	case !(g.Wanted >= 0 && g.Wanted <= 1):
		return nil, fault.Invalid("power", "got %v, want 0 to 1", g.Wanted)
	case g.Samples.check() != nil:
		return nil, g.Samples.check()
	case pairs > MaxRows/(g.Samples.Upper-g.Samples.Lower+1):
		return nil, &fault.Error{Code: fault.TooLarge, Violations: []fault.Violation{{
			Field: "grid",
			Text:  "asks for too many curves; ask for fewer ratios, geometric standard deviations or numbers of samples",
		}}}
	}
	curves := make([]Curve, 0, pairs)
	for i, gsd := range g.GeometricStandardDeviation {
		for j, ratio := range g.PercentileToLimit {
			a, err := AssumeRatio(ratio, gsd)
			if err != nil {
				return nil, inGrid(err, i, j)
			}
			rows, err := p.Plan(rule, a, g.Samples)
			if err != nil {
				return nil, err
			}
			curves = append(curves, Curve{ratio, gsd, rows, Smallest(rows, g.Aim, g.Wanted)})
		}
	}
	return curves, nil
}

// inGrid puts a fault about the pair of the i-th geometric standard deviation and the j-th ratio where it stands in the grid.
func inGrid(err error, i, j int) error {
	f, ok := errors.AsType[*fault.Error](err)
	if !ok {
		return err
	}
	moved := *f
	moved.Violations = slices.Clone(f.Violations)
	for k, v := range moved.Violations {
		at := j
		if v.Field == fieldGSD {
			at = i
		}
		moved.Violations[k].Field = "grid." + v.Field + "[" + strconv.Itoa(at) + "]"
	}
	return &moved
}
