package trace

import (
	"math"
	"time"

	"example.com/tailbound/service/fault"
)

// Bounds is what is known of a concentration: it lies in [Lower, Upper]. Both are the same when it is known exactly; Upper is
// +Inf when the sensor was over its range.
type Bounds struct{ Lower, Upper float64 }

// Exactly returns the bounds of a known concentration.
func Exactly(v float64) Bounds { return Bounds{Lower: v, Upper: v} }

// Exact says whether the concentration is known.
func (b Bounds) Exact() bool { return b.Lower == b.Upper }

// Middle returns the middle of the bounds, for display only: no average is made of it. +Inf when there is no upper bound.
func (b Bounds) Middle() float64 { return b.Lower + (b.Upper-b.Lower)/2 }

// Span is a stretch of time and the average concentration over it.
type Span struct {
	Bounds
	Length time.Duration
}

// Assumption is what is taken of time that was not sampled. It changes the answer, so that the caller states it.
type Assumption uint8

const (
	// Unknown: anything from 0 to the top of the range.
	Unknown Assumption = iota
	// Zero: no exposure.
	Zero
	// Same: like the sampled time.
	Same
)

// bounds returns what an assumption makes of unsampled time. top is the most that is possible, +Inf when that is not known.
func (a Assumption) bounds(sampled Bounds, top float64) Bounds {
	switch a {
	case Zero:
		return Bounds{}
	case Same:
		return sampled
	default:
		return Bounds{Upper: top}
	}
}

// Weigh returns the sum of concentration times length over a base, C1 T1 + … + Cn Tn divided by the base (29 CFR
// 1910.1000(d)(1) with a base of 8 h). The sum of the lengths may exceed the base, as it does for a long shift; time that the
// spans leave free counts as 0, so that a caller who assumes otherwise adds a span.
func Weigh(spans []Span, base time.Duration) (Bounds, error) {
	if base <= 0 {
		return Bounds{}, fault.Invalid("base", "is %s; accepted is a length of time greater than 0", Length(base))
	}
	var lower, upper sum
	for _, s := range spans {
		if s.Length < 0 {
			return Bounds{}, fault.Invalid("length", "is %s; accepted is a length of time that is not negative", Length(s.Length))
		}
		if s.Length == 0 {
			continue // An unbounded concentration over no time is no exposure.
		}
		share := float64(s.Length) / float64(base)
		lower.add(s.Lower * share)
		upper.add(s.Upper * share)
	}
	return Bounds{Lower: lower.total(), Upper: upper.total()}, nil
}

// Base says what a time-weighted average is taken over, and what is assumed where nothing was measured.
type Base struct {
	// Length is usually 8 h.
	Length time.Duration
	// Gaps is taken of the gaps within the trace, Outside of what the trace leaves of Length.
	Gaps, Outside Assumption
	// Top is the most that unsampled time can have had; +Inf when that is not known.
	Top float64
}

// OverBase returns the average over a base: what was observed, the gaps and the rest of the base, each with its assumption. When
// the trace is longer than the base all of it counts, as the dose of a long shift does. The error is a fault about the base.
func (a *Average) OverBase(b Base) (Bounds, error) {
	if a.Observed == 0 {
		return Bounds{}, fault.Unsettled("nothing was observed between %s and %s", clock(a.Start), clock(a.Start.Add(a.Length)))
	}
	return Weigh([]Span{
		{Bounds: a.Bounds, Length: a.Observed},
		{Bounds: b.Gaps.bounds(a.Bounds, b.Top), Length: a.Length - a.Observed},
		{Bounds: b.Outside.bounds(a.Bounds, b.Top), Length: max(b.Length-a.Length, 0)},
	}, b.Length)
}

// sum adds with the lost digits kept apart (Neumaier 1974, from memory), so that a hundred million values add up like ten.
type sum struct{ high, low float64 }

func (s *sum) add(v float64) {
	t := s.high + v
	switch {
	case math.IsInf(t, 0):
		// The lost digits of an infinite sum are not a number.
	case math.Abs(s.high) >= math.Abs(v):
		s.low += (s.high - t) + v
	default:
		s.low += (v - t) + s.high
	}
	s.high = t
}

func (s *sum) total() float64 { return s.high + s.low }
