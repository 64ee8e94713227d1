package decision

import (
	"math"
	"time"

	"example.com/tailbound/service/fit"
)

const reassessSource = "EN 689:2018, Annex I (intervals from memory)"

// Reassessment is when a compliant group should be looked at again.
type Reassessment struct {
	// Months is the longest time until then, counted from the latest reading.
	Months int
	// Reason is the arithmetic in words and numbers.
	Reason string
	// Source is the publication of the interval.
	Source string
}

// intervals are the months until the next assessment for a geometric mean below a fraction of the limit, the shortest where it is
// below none of them.
func intervals() []struct {
	below  float64
	months int
} {
	return []struct {
		below  float64
		months int
	}{{0.1, 36}, {0.25, 24}, {0.5, 18}, {math.Inf(1), 12}}
}

// Reassess returns when to look again at a group that a rule finds compliant; nil for any other, and for a rule that judges one
// shift and not the group. within is the longest time that the caller allows, in months; 0 when none is stated.
func Reassess(e *Evidence, d *Decision, within int) *Reassessment {
	if d.Outcome != Compliant || d.Rule == SingleShift {
		return nil
	}
	mine := *e
	mine.scratch = nil
	level, p := mine.level()
	out := &Reassessment{Source: reassessSource}
	p.say(" is ")
	lower := 0.0
	for _, interval := range intervals() {
		if level < interval.below*(1-rounding) || math.IsInf(interval.below, 1) {
			out.Months = interval.months
			p.placed(lower, interval.below).say(" the limit, ").stated(e.Limit).say(": ").count(out.Months).say(" months.")
			break
		}
		lower = interval.below
	}
	if within > 0 && within < out.Months {
		out.Months = within
		p.say(" The caller allows ").count(within).say(" months.")
	}
	if latest := e.latest(); !latest.IsZero() {
		// From the first of the month: the 31st plus some months may be no day.
		due := time.Date(latest.Year(), latest.Month()+time.Month(out.Months), 1, 0, 0, 0, 0, time.UTC)
		p.say(" The latest reading is of ").say(latest.Format(time.DateOnly)).say(", so it is due in ").say(due.Format("2006-01")).say(".")
	}
	out.Reason = p.String()
	return out
}

// level is the geometric mean as a fraction of the limit, or what it is surely not above where no lognormal is fitted.
func (e *Evidence) level() (float64, *prose) {
	if e.Fit.Status == fit.Fitted || e.Fit.Values != nil {
		return math.Exp(e.Fit.Mu - e.logLimit()), e.prose().say("The geometric mean, ").amountOfLog(e.Fit.Mu).say(",")
	}
	top := e.largest()
	return top.Upper / e.Limit, e.prose().say("The geometric mean is not known, but at most the largest result, ").result(top).say(", which")
}

// placed says between which fractions of the limit the level lies.
func (p *prose) placed(lower, upper float64) *prose {
	switch {
	case lower == 0:
		return p.say("below ").fraction(upper).say(" of")
	case math.IsInf(upper, 1):
		return p.say("at or above ").fraction(lower).say(" of")
	}
	return p.say("between ").fraction(lower).say(" and ").fraction(upper).say(" of")
}

// latest is the end of the latest reading; the zero time where no reading has a start.
func (e *Evidence) latest() time.Time {
	var latest time.Time
	for i := range e.Readings {
		r := &e.Readings[i]
		if end := r.Start.Add(r.Duration); !r.Start.IsZero() && end.After(latest) {
			latest = end
		}
	}
	return latest.UTC()
}
