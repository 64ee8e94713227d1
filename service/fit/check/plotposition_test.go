package check

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// detectedPositions and censoredPositions are the positions of the readings with and without a value; the second of those that
// stand at value.
func detectedPositions(points []plotted) []float64 {
	var out []float64
	for _, p := range points {
		if !p.censored {
			out = append(out, p.position)
		}
	}
	return out
}

func censoredPositions(points []plotted, value float64) []float64 {
	var out []float64
	for _, p := range points {
		if p.censored && p.value == value {
			out = append(out, p.position)
		}
	}
	return out
}

func requireAll(tb require.TestingT, want, got []float64, tolerance float64) {
	require.Len(tb, got, len(want))
	for i := range want {
		require.InDelta(tb, want[i], got[i], tolerance, "element %d", i)
	}
}

// Source: Helsel and Cohn (1988), appendix B, as printed in the documentation of a general environmental-statistics R library.
func TestPositionsOfHelselAndCohn(t *testing.T) {
	t.Parallel()
	points := plottingPositions(samples.Mixed([]float64{3, 7, 9, 12, 15, 20, 27, 33, 50}, append(samples.Repeat(1, 6), samples.Repeat(10, 3)...)...), 0)
	requireAll(t, []float64{.500, .556, .611, .714, .762, .810, .857, .905, .952}, detectedPositions(points), 6e-4)
	requireAll(t, []float64{.063, .127, .190, .254, .317, .381}, censoredPositions(points, 1), 6e-4)
	requireAll(t, []float64{.167, .333, .500}, censoredPositions(points, 10), 6e-4)
}

// Source: manganese of the USEPA Unified Guidance (2009), example 15-1; positions, regressions on the scores and plot
// correlation as printed in the same documentation.
func TestPositionsOfManganese(t *testing.T) {
	t.Parallel()
	weibull := plottingPositions(samples.Manganese(), 0)
	requireAll(t, []float64{
		.245, .318, .356, .394, .432, .469, .507, .545, .583, .621, .659, .697, .735, .773, .811, .848, .886, .924, .962,
	}, detectedPositions(weibull), 6e-4)
	require.InDelta(t, 0.9943942, plotCorrelation(plotPoints(weibull)), 5e-8)
	// Parametric regression on order statistics with a = 3/8.
	intercept, slope := plotLine(plottingPositions(samples.Manganese(), blom))
	require.InDelta(t, 2.293742, intercept, 5e-7)
	require.InDelta(t, 1.283635, slope, 5e-7)
}

// plotLine regresses the logs of the detected readings on their scores.
func plotLine(points []plotted) (intercept, slope float64) {
	var n, sx, sy, sxx, sxy float64
	for _, p := range points {
		if p.censored {
			continue
		}
		x, y := numeric.NormalQuantile(p.position), math.Log(p.value)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	slope = (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return (sy - slope*sx) / n, slope
}

// Without censoring the scores are those of the uncensored plot.
func TestPositionsWithoutCensoring(t *testing.T) {
	t.Parallel()
	points := Plot(samples.Mixed([]float64{3, 1, 4, 1.5, 9, 2.6})).Points
	scores := NormalScores(6)
	for i, v := range []float64{1, 1.5, 2.6, 3, 4, 9} {
		require.Equal(t, v, points[i].Reading)
		require.InDelta(t, scores[i], points[i].NormalScore, 1e-15)
		require.False(t, points[i].Censored)
	}
	require.Empty(t, Plot(nil).Points)
}

// Results above ranges are the mirror image of results below limits.
func TestPositionsAboveMirrorThoseBelow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyReadings(t, reading.Detected, reading.Below)
		mirror := make([]reading.Reading, len(readings))
		for i, r := range readings {
			if r.Kind == reading.Below {
				mirror[i] = reading.Over(1 / r.Upper)
			} else {
				mirror[i] = reading.At(1 / r.Lower)
			}
		}
		want, got := plottingPositions(readings, blom), plottingPositions(mirror, blom)
		below, above := detectedPositions(want), detectedPositions(got)
		slices.Reverse(above)
		for i := range below {
			require.InDelta(t, below[i], 1-above[i], 1e-12)
		}
	})
}

// Turnbull's estimate gives the same as the product-limit estimate where that exists.
func TestSelfConsistentAgreesWithProductLimit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := newCells(samples.AnyReadings(t, reading.Detected, reading.Detected, reading.Below))
		want := s.cumulative()
		got := make([]float64, len(want))
		s.selfConsistent(got)
		requireAll(t, want, got, 1e-6)
	})
}

// The estimate is a maximum of its likelihood: moving mass towards any cell gains nothing (Gentleman and Geyer 1994, from
// memory).
func TestSelfConsistentIsAMaximum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := newCells(samples.AnyMixture(t))
		f := s.cumulative()
		n := float64(len(s.spans))
		for j, detected := range s.detected {
			gain := 0.0
			for _, p := range s.spans {
				if p.censored && p.first <= j && j <= p.last {
					gain += 1 / (f[p.last+1] - f[p.first])
				}
			}
			mass := f[j+1] - f[j]
			if detected > 0 {
				require.InDelta(t, n, gain+float64(detected)/mass, 1e-3*n)
			}
			require.LessOrEqual(t, gain, n*(1+1e-3))
		}
	})
}

// Positions rise with the reading, lie inside 0..1, and do not depend on the order of the request.
func TestPositionsAreOrderly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		points := plottingPositions(readings, blom)
		require.Len(t, points, len(readings))
		require.True(t, slices.IsSorted(detectedPositions(points)))
		for _, p := range points {
			require.Greater(t, p.position, 0.0)
			require.Less(t, p.position, 1.0)
		}
		require.Equal(t, points, plottingPositions(rapid.Permutation(readings).Draw(t, "order"), blom))
	})
}
