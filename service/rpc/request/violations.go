package request

import (
	"errors"
	"math"
	"strconv"
	"time"
	"unicode/utf8"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

// MostViolations is where a check stops looking for more.
const MostViolations = 20

// longestLength keeps every length of time within what a count of nanoseconds holds, with room to add.
const longestLength = 100 * 365 * 24 * time.Hour

// violations collects what is wrong, in the order of the checks.
type violations []fault.Violation

// fault is nil when nothing is wrong.
func (v violations) fault() error {
	if len(v) == 0 {
		return nil
	}
	return &fault.Error{Code: fault.InvalidArgument, Violations: v}
}

// tooLarge is the fault of a request that asks for too much, whatever else is wrong with it.
func tooLarge(field, text string) error {
	return &fault.Error{Code: fault.TooLarge, Violations: []fault.Violation{{Field: field, Text: text}}}
}

func (v *violations) add(field, text string) {
	if len(*v) < MostViolations {
		*v = append(*v, fault.Violation{Field: field, Text: text})
	}
}

// join adds the violations of a fault.
func (v *violations) join(err error) {
	var e *fault.Error
	if errors.As(err, &e) && len(e.Violations) > 0 {
		*v = append(*v, e.Violations...)
		return
	}
	v.add("", err.Error())
}

// under adds the violations of a fault under a field.
func (v *violations) under(field string, err error) {
	if f, ok := errors.AsType[*fault.Error](fault.Under(field, err)); ok {
		for _, one := range f.Violations {
			v.add(one.Field, one.Text)
		}
	}
}

func (v *violations) text(field, text string, longest int) {
	if !utf8.ValidString(text) {
		v.add(field, "is not valid UTF-8")
		return
	}
	// Counting is only needed for what has more bytes than the cap has characters.
	if len(text) > longest {
		if n := utf8.RuneCountInString(text); n > longest {
			v.add(field, "has "+strconv.Itoa(n)+" characters; at most "+strconv.Itoa(longest)+" are accepted")
		}
	}
}

// within accepts an absent value; NaN lies in no range.
func (v *violations) within(field string, value *float64, lowest, highest float64) {
	if value == nil || *value >= lowest && *value <= highest {
		return
	}
	v.add(field, "is "+number(*value)+"; accepted is a number from "+number(lowest)+" to "+number(highest))
}

// enumerated wants one of the values that the contract names, which are those of what.
func (v *violations) enumerated(field string, value int32, names map[int32]string, what string) bool {
	_, known := names[value]
	if !known {
		v.add(field, "is "+strconv.Itoa(int(value))+", which is no "+what+" of this contract")
	}
	return known
}

func (v *violations) limit(l *tailboundv1.Limit) {
	if l == nil {
		return
	}
	if !positive(l.GetValue()) {
		v.add("limit.value", "is "+number(l.GetValue())+"; accepted is a finite number greater than 0")
	}
	v.text("limit.unit", l.GetUnit(), longestUnit)
}

// moment accepts an absent time unless it is required.
func (v *violations) moment(field string, t *timestamppb.Timestamp, required bool) {
	if t == nil && !required {
		return
	}
	if t.CheckValid() != nil {
		v.add(field, "is missing or not a time between the years 1 and 9999")
	}
}

// length accepts an absent length of time. What is negative but must not be, the stage says.
func (v *violations) length(field string, d *durationpb.Duration) {
	if d == nil {
		return
	}
	if t := d.AsDuration(); d.CheckValid() != nil || t < -longestLength || t > longestLength {
		v.add(field, "is not a length of time of at most a century")
	}
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
