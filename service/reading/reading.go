// Package reading holds the vocabulary of the service: readings, groups, limits and units, and the table of results that
// people keep them in.
package reading

import (
	"math"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
)

// Kind says what is known of a result.
type Kind uint8

const (
	// Detected is a result with a value.
	Detected Kind = iota
	// Below is a result under the reporting limit.
	Below
	// Above is a result over the sensor's range.
	Above
	// Between is a result known only to lie between two bounds.
	Between
)

// String returns the kind as it is written in the contract.
func (k Kind) String() string {
	switch k {
	case Detected:
		return "value"
	case Below:
		return "below"
	case Above:
		return "above"
	case Between:
		return "between"
	}
	return "unknown"
}

// Reading is one result for one averaging period. Whatever its kind, the exposure lies in [Lower, Upper]: a detected value
// has Lower = Upper, a result below a reporting limit has Lower = 0, one above the range has Upper = +Inf.
type Reading struct {
	Kind         Kind
	Lower, Upper float64
	Zone         string
	Subject      string
	Campaign     string
	ID           string
	// Start is the zero time when unknown.
	Start time.Time
	// Duration is zero when unknown.
	Duration time.Duration
}

// At returns a detected value.
func At(value float64) Reading { return Reading{Kind: Detected, Lower: value, Upper: value} }

// Under returns a result below a reporting limit.
func Under(limit float64) Reading { return Reading{Kind: Below, Upper: limit} }

// Over returns a result above the top of a range.
func Over(top float64) Reading { return Reading{Kind: Above, Lower: top, Upper: math.Inf(1)} }

// Within returns a result between two bounds.
func Within(lower, upper float64) Reading { return Reading{Kind: Between, Lower: lower, Upper: upper} }

// Value returns the number that stands for the reading in a table or plot: the value, the reporting limit, the top of the
// range, or the middle of the two bounds. It is never used in a fit.
func (r Reading) Value() float64 {
	switch r.Kind {
	case Below:
		return r.Upper
	case Between:
		return r.Lower + (r.Upper-r.Lower)/2
	default:
		return r.Lower
	}
}

// Convert puts the numbers of the reading from one unit into another. The fault names no field.
func (r *Reading) Convert(from, to Unit) error { return r.convert(from, to, Vapor{}) }

// convert is Convert for an agent of which more may be known.
func (r *Reading) convert(from, to Unit, agent Vapor) error {
	if from == to {
		return nil
	}
	lower, err := agent.convert(r.Lower, from, to)
	if err != nil {
		return err
	}
	upper, err := agent.convert(r.Upper, from, to)
	if err != nil {
		return err
	}
	r.Lower, r.Upper = lower, upper
	return r.Check()
}

// Check returns a fault, with the field's path inside the reading, when a number is not a concentration.
func (r Reading) Check() error {
	switch r.Kind {
	case Detected:
		if r.Lower == 0 {
			return fault.Invalid("value", "is 0; a result that was not detected is stated as below its reporting limit")
		}
		return positive("value", r.Lower)
	case Below:
		return positive("below", r.Upper)
	case Above:
		return positive("above", r.Lower)
	case Between:
		return r.checkBounds()
	}
	return fault.Invalid("", "has no result; accepted are value, below, above and between")
}

func (r Reading) checkBounds() error {
	if r.Lower != 0 {
		if err := positive("between.lower", r.Lower); err != nil {
			return err
		}
	}
	if err := positive("between.upper", r.Upper); err != nil {
		return err
	}
	if r.Upper <= r.Lower {
		return fault.Invalid("between.upper", "is %v, not above the lower bound %v", r.Upper, r.Lower)
	}
	return nil
}

// positive accepts what has a logarithm and can be scaled without loss: subnormal numbers have lost digits already.
func positive(field string, v float64) error {
	const smallest, largest = 0x1p-1022, math.MaxFloat64
	if v >= smallest && v <= largest {
		return nil
	}
	return fault.Invalid(field, "is %v; accepted is a finite number greater than 0", v)
}

// Limit is an exposure limit. Its unit may be another one than that of the readings, as long as one converts into the other.
type Limit struct {
	Value float64
	Unit  Unit
}

// String writes the limit as a person does, such as "0.5 mg/m3".
func (l Limit) String() string {
	return strings.TrimSpace(strconv.FormatFloat(l.Value, 'g', -1, 64) + " " + string(l.Unit))
}

// Group is the readings that are judged together.
type Group struct {
	Name     string
	Agent    string
	Unit     Unit
	Readings []Reading
	// Limit is nil when the group is to be described but not judged.
	Limit *Limit
	// Remarks is what else the reader of an answer must know, such as rows that were left out.
	Remarks []string
}

// Counts says how many readings are of each kind.
type Counts struct {
	Readings, Detected, Below, Above, Between int
	// Minimum and Maximum are the extremes of the detected values; both 0 when nothing was detected.
	Minimum, Maximum float64
}

// Count counts the readings.
func Count(readings []Reading) Counts {
	c := Counts{Readings: len(readings)}
	for i := range readings {
		switch readings[i].Kind {
		case Detected:
			c.detected(readings[i].Lower)
		case Below:
			c.Below++
		case Above:
			c.Above++
		case Between:
			c.Between++
		}
	}
	return c
}

func (c *Counts) detected(v float64) {
	if c.Detected == 0 || v < c.Minimum {
		c.Minimum = v
	}
	if c.Detected == 0 || v > c.Maximum {
		c.Maximum = v
	}
	c.Detected++
}

// Censored is the number of readings without a value.
func (c Counts) Censored() int { return c.Readings - c.Detected }
