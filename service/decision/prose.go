package decision

import (
	"math"
	"strconv"

	"example.com/tailbound/service/reading"
)

// prose writes the argument of a decision into one buffer: an assessment writes several of them, and one group is read by
// a person while thousands may pass through a stream.
type prose struct {
	text []byte
	unit reading.Unit
}

// longestArgument is what the longest usual argument takes, in bytes.
const longestArgument = 1024

// prose opens an argument. One at a time is written from the same evidence.
func (e *Evidence) prose() *prose {
	if e.scratch == nil {
		e.scratch = make([]byte, 0, longestArgument)
	}
	return &prose{text: e.scratch, unit: e.Unit}
}

// say adds words.
func (p *prose) say(words string) *prose {
	p.text = append(p.text, words...)
	return p
}

// count adds a whole number.
func (p *prose) count(n int) *prose {
	p.text = strconv.AppendInt(p.text, int64(n), 10)
	return p
}

// number adds a number with four significant figures.
func (p *prose) number(v float64) *prose {
	if math.IsInf(v, 0) {
		return p.say("(too large for a number)")
	}
	p.text = reading.AppendFigures(p.text, v, 4)
	return p
}

// fraction adds a fraction of the rule as it is printed, such as 0.15.
func (p *prose) fraction(v float64) *prose {
	p.text = strconv.AppendFloat(p.text, v, 'g', -1, 64)
	return p
}

// amount adds a computed concentration with its unit.
func (p *prose) amount(v float64) *prose { return p.number(v).ofUnit() }

// stated adds a concentration that the caller gave, a result or the limit, as the caller wrote it.
func (p *prose) stated(v float64) *prose { return p.asWritten(v).ofUnit() }

// asWritten adds a number as the caller wrote it.
func (p *prose) asWritten(v float64) *prose {
	p.text = reading.AppendStated(p.text, v)
	return p
}

// result adds a reading as a table of results writes it.
func (p *prose) result(r reading.Reading) *prose {
	switch r.Kind {
	case reading.Below:
		return p.say("<").stated(r.Upper)
	case reading.Above:
		return p.say(">").stated(r.Lower)
	case reading.Between:
		return p.asWritten(r.Lower).say("..").stated(r.Upper)
	default:
		return p.stated(r.Lower)
	}
}

func (p *prose) ofUnit() *prose {
	if p.unit != "" {
		p.say(" ").say(string(p.unit))
	}
	return p
}

// amountOfLog adds the concentration whose log is given, also where it is too large for a float64.
func (p *prose) amountOfLog(l float64) *prose {
	if v := math.Exp(l); v != 0 && !math.IsInf(v, 0) {
		return p.amount(v)
	}
	return p.say("e^").number(l).say(" ").say(string(p.unit))
}

// String is the argument so far.
func (p *prose) String() string { return string(p.text) }
