package wire

import "math"

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// optional is a number that may be absent.
func optional(v float64) *float64 {
	if !finite(v) {
		return nil
	}
	return &v
}

func orNaN(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}

// stated is a number that is absent at its zero value.
func stated[T float64 | int32](v T) *T {
	if v == 0 {
		return nil
	}
	return &v
}

// count fits a number of readings, which a message cannot carry more than 2^31-1 of, into the contract's type.
func count(n int) int32 { return int32(min(n, math.MaxInt32)) } //nolint:gosec // Bounded by min.

// number32 is a number of samples, absent when it is 0.
func number32(n int) *int32 {
	if n == 0 {
		return nil
	}
	v := count(n)
	return &v
}

// each converts a list with two allocations, however long it is.
func each[From, To any](from []From, convert func(*From, *To)) []*To {
	if len(from) == 0 {
		return nil
	}
	items, list := make([]To, len(from)), make([]*To, len(from))
	for i := range from {
		convert(&from[i], &items[i])
		list[i] = &items[i]
	}
	return list
}

// list converts a list; an empty one becomes nil, as the wire does not tell them apart.
func list[From, To any](from []*From, convert func(*From) To) []To {
	if len(from) == 0 {
		return nil
	}
	to := make([]To, len(from))
	for i, p := range from {
		to[i] = convert(p)
	}
	return to
}
