package reading

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/fault"
)

// Component is one agent's part of a mixture.
type Component struct {
	Reading Reading
	// Limit is the agent's own, in the unit of the reading, finite and greater than 0.
	Limit float64
}

// AdditiveIndex is the sum of the readings of agents with one effect, measured at the same time, each over its own limit: C1/L1 +
// C2/L2 + ..., to be judged against 1 (29 CFR 1910.1000(d)(2)). What has no value is carried through as a range, never as a number in
// its place: the index lies between the sum of the lower and the sum of the upper ends, so that values with non-detects give one
// between two bounds, non-detects alone one below, and a reading above its range one above. The order of the components never
// changes a bit. The result has no zone, subject, start or duration.
//
// The error is a fault: no component, a limit that is not positive, or a sum that no float64 holds.
func AdditiveIndex(components []Component) (Reading, error) {
	if len(components) == 0 {
		return Reading{}, fault.Invalid("", "has no component; a mixture has at least 1")
	}
	parts := make([]Reading, len(components))
	for i, c := range components {
		if err := positive("limit", c.Limit); err != nil {
			return Reading{}, err
		}
		parts[i] = Reading{Kind: c.Reading.Kind, Lower: c.Reading.Lower / c.Limit, Upper: c.Reading.Upper / c.Limit}
	}
	slices.SortFunc(parts, func(a, b Reading) int { return cmp.Or(cmp.Compare(a.Upper, b.Upper), cmp.Compare(a.Lower, b.Lower)) })
	index := parts[0]
	for _, part := range parts[1:] {
		index.Lower += part.Lower
		index.Upper += part.Upper
		if index.Kind != part.Kind {
			index.Kind = Between
		}
	}
	switch {
	case math.IsInf(index.Upper, 1) && !allFinite(components):
		index.Kind = Above
	case index.Kind != Below && index.Lower == index.Upper:
		// What was not detected may be too little to count.
		index.Kind = Detected
	}
	return index, index.Check()
}

func allFinite(components []Component) bool {
	for _, c := range components {
		if c.Reading.Kind == Above {
			return false
		}
	}
	return true
}
