// Package samples holds the groups of readings that tests of several packages look at.
package samples

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

// Group is a group of the reference files.
type Group struct {
	// ID names the group and Limit is the limit it is judged by.
	ID    string  `json:"id"`
	Limit float64 `json:"limit"`
	// Obs are the readings as the files write them.
	Obs []struct {
		Value float64  `json:"value"`
		Kind  string   `json:"kind"`
		Upper *float64 `json:"upper"`
	} `json:"obs"`
}

// Readings are those of the group.
func (s *Group) Readings(tb testing.TB) []reading.Reading {
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

// Groups reads a file of groups.
func Groups(tb testing.TB, name string) map[string]*Group {
	tb.Helper()
	var list []*Group
	reference.JSON(tb, name, &list)
	out := make(map[string]*Group, len(list))
	for _, s := range list {
		out[s.ID] = s
	}
	return out
}

// Manganese is example 15-1 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), in ppb: six of 25 below two limits.
func Manganese() []reading.Reading {
	values := []float64{
		3.3, 5.3, 6.3, 7.7, 8.4, 9.5, 10, 11.9, 12.1, 12.6, 16.9, 17.9, 21.6, 22.7, 34.5, 45.9, 53.6, 77.2, 106.3,
	}
	return Mixed(values, 2, 2, 2, 5, 5, 5)
}

// Mixed has readings with a value and readings below limits.
func Mixed(values []float64, below ...float64) []reading.Reading {
	var out []reading.Reading
	for _, v := range values {
		out = append(out, reading.At(v))
	}
	for _, v := range below {
		out = append(out, reading.Under(v))
	}
	return out
}

// Repeat is n times v.
func Repeat(v float64, n int) []float64 { return slices.Repeat([]float64{v}, n) }

// AnyReadings draws readings of the kinds asked for, on a grid of reporting limits so that some share one.
func AnyReadings(t *rapid.T, kinds ...reading.Kind) []reading.Reading {
	out := make([]reading.Reading, rapid.IntRange(1, 25).Draw(t, "n"))
	value := rapid.Map(rapid.Float64Range(-3, 3), math.Exp)
	point := rapid.SampledFrom([]float64{0.1, 0.2, 0.5, 1, 2, 5})
	for i := range out {
		switch rapid.SampledFrom(kinds).Draw(t, "kind") {
		case reading.Detected:
			out[i] = reading.At(value.Draw(t, "value"))
		case reading.Below:
			out[i] = reading.Under(point.Draw(t, "below"))
		case reading.Above:
			out[i] = reading.Over(point.Draw(t, "above"))
		case reading.Between:
			v := point.Draw(t, "between")
			out[i] = reading.Within(v, v*rapid.Float64Range(1.0001, 20).Draw(t, "width"))
		}
	}
	return out
}

// AnyMixture draws readings of every kind.
func AnyMixture(t *rapid.T) []reading.Reading {
	return AnyReadings(t, reading.Detected, reading.Detected, reading.Below, reading.Above, reading.Between)
}
