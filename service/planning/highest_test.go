package planning

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
)

// The table of NIOSH 77-173 for the top 10 % at a confidence of 0.90 (from memory): number to sample by group size. It comes
// of a group's tenth as a real number in gamma functions, rounded to the nearest. Rounding reproduces it but for 8, 48 and
// 49 (a fact about the table as remembered).
func TestHighestReproducesThePrintedColumn(t *testing.T) {
	t.Parallel()
	misses := map[int]bool{8: true, 48: true, 49: true}
	for _, c := range []struct{ from, to, printed int }{
		{8, 8, 7},
		{9, 9, 8},
		{10, 10, 9},
		{11, 12, 10},
		{13, 14, 11},
		{15, 17, 12},
		{18, 20, 13},
		{21, 24, 14},
		{25, 29, 15},
		{30, 37, 16},
		{38, 49, 17},
		{50, 50, 18},
	} {
		for size := c.from; size <= c.to; size++ {
			if misses[size] {
				continue
			}
			require.Equal(t, c.printed, int(math.Round(realSamples(float64(size), 0.1, 0.9))), "group of %d", size)
		}
	}
}

// realSamples solves C(N-Nf, n)/C(N, n) = 1 - confidence for a real n.
func realSamples(size, fraction, confidence float64) float64 {
	g := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	m := size * fraction
	missed := func(n float64) float64 {
		return g(size-m+1) + g(size-n+1) - g(size+1) - g(size-m-n+1)
	}
	lo, hi := 0.0, size-m
	for range 60 {
		if mid := 0.5 * (lo + hi); missed(mid) > math.Log(1-confidence) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// Whole numbers that truly reach the confidence, computed with exact fractions where a tenth of the group is whole: the
// printed 13 of 20 reach 0.8895 only.
func TestHighestReachesTheConfidence(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		size                 int
		fraction, confidence float64
		samples, among       int
		chance               float64
	}{
		{10, 0.1, 0.9, 9, 1, 0.9},
		{20, 0.1, 0.9, 14, 2, 0.921052631578947},
		{30, 0.1, 0.9, 16, 3, 0.910344827586207},
		{40, 0.1, 0.9, 17, 4, 0.903107561002298},
		{50, 0.1, 0.9, 18, 5, 0.904955728822519},
		// Fewer than ten: the one highest exposed.
		{8, 0.1, 0.9, 8, 1, 1},
		{5, 0.1, 0.9, 5, 1, 1},
		{1, 0.1, 0.9, 1, 1, 1},
		// Without a size: top 10 % 22 and 29, top 20 % 11 and 14 (the manual's, from memory).
		{0, 0.1, 0.9, 22, 0, 1 - math.Pow(0.9, 22)},
		{0, 0.1, 0.95, 29, 0, 1 - math.Pow(0.9, 29)},
		{0, 0.2, 0.9, 11, 0, 1 - math.Pow(0.8, 11)},
		{0, 0.2, 0.95, 14, 0, 1 - math.Pow(0.8, 14)},
		{0, 0.5, 0.75, 2, 0, 0.75},
	} {
		got, err := SampleHighest(c.size, c.fraction, c.confidence)
		require.NoError(t, err)
		require.Equal(t, c.samples, got.Samples, "%+v", c)
		require.Equal(t, c.among, got.Among, "%+v", c)
		require.InDelta(t, c.chance, got.Chance, 1e-14, "%+v", c)
	}
}

// One fewer never reaches; a larger group of the same count of highest wants no fewer; a large group tends to the unlimited.
func TestHighestIsTheSmallest(t *testing.T) {
	t.Parallel()
	for size := 1; size <= 300; size++ {
		for _, fraction := range []float64{0.05, 0.1, 0.2, 0.37} {
			got, err := SampleHighest(size, fraction, 0.9)
			require.NoError(t, err)
			require.GreaterOrEqual(t, got.Chance, 0.9-1e-12)
			require.LessOrEqual(t, float64(got.Among), max(1, float64(size)*fraction+1e-9))
			missed := 1.0
			for i := range got.Samples - 1 {
				missed *= float64(size-got.Among-i) / float64(size-i)
			}
			require.Less(t, 1-missed, 0.9)
		}
	}
	large, err := SampleHighest(MaxGroup, 0.1, 0.9)
	require.NoError(t, err)
	require.Equal(t, 22, large.Samples)
}

func TestHighestRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		size                 int
		fraction, confidence float64
	}{{-1, 0.1, 0.9}, {MaxGroup + 1, 0.1, 0.9}, {9, 0, 0.9}, {9, 1, 0.9}, {9, math.NaN(), 0.9}, {9, 0.1, 0}, {9, 0.1, 1}, {0, 1e-9, 0.9}} {
		_, err := SampleHighest(c.size, c.fraction, c.confidence)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), "%+v", c)
	}
}
