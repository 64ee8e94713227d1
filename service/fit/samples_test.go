package fit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

// groupSample is a group of the reference files.
type groupSample struct {
	ID    string  `json:"id"`
	Limit float64 `json:"limit"`
	Obs   []struct {
		Value float64  `json:"value"`
		Kind  string   `json:"kind"`
		Upper *float64 `json:"upper"`
	} `json:"obs"`
}

func (s *groupSample) readings(tb testing.TB) []reading.Reading {
	tb.Helper()
	out := make([]reading.Reading, len(s.Obs))
	for i, o := range s.Obs {
		switch o.Kind {
		case "exact":
			out[i] = reading.At(o.Value)
		case "lt":
			out[i] = reading.Under(o.Value)
		case "gt":
			out[i] = reading.Over(o.Value)
		case "interval":
			out[i] = reading.Within(o.Value, *o.Upper)
		default:
			require.Fail(tb, "unknown kind", o.Kind)
		}
	}
	return out
}

// groupSamples reads a file of groups.
func groupSamples(tb testing.TB, name string) map[string]*groupSample {
	tb.Helper()
	var list []*groupSample
	reference.JSON(tb, name, &list)
	out := make(map[string]*groupSample, len(list))
	for _, s := range list {
		out[s.ID] = s
	}
	return out
}

// onScale reduces readings that are normal themselves, so that examples on the scale of the readings can be checked: the
// numbers stand where newData puts their logs.
func onScale(values []float64, below, above []bound, between []band) data {
	var d data
	sorted := slices.Sorted(slices.Values(values))
	d.describe(sorted, 1)
	d.below, d.above, d.between = mergeBounds(below), mergeBounds(above), mergeBands(between)
	return d
}

// repeat is n times v.
func repeat(v float64, n int) []float64 { return slices.Repeat([]float64{v}, n) }

// relativeError is the relative difference, absolute where the reference is 0.
func relativeError(got, want float64) float64 {
	if want == 0 {
		return math.Abs(got)
	}
	return math.Abs(got/want - 1)
}
