package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/reading"
)

// anyReadings draws readings of the kinds asked for, on a grid of reporting limits so that some share one.
func anyReadings(t *rapid.T, kinds ...reading.Kind) []reading.Reading {
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

func anyMixture(t *rapid.T) []reading.Reading {
	return anyReadings(t, reading.Detected, reading.Detected, reading.Below, reading.Above, reading.Between)
}

func TestOrderOfReadingsNeverMatters(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := anyMixture(t)
		first, err := maximize(newData(readings, 1))
		second, again := maximize(newData(rapid.Permutation(readings).Draw(t, "order"), 1))
		require.Equal(t, err, again)
		require.Equal(t, first, second)
	})
}

// Scaling all readings by a constant moves mu by its log and nothing else.
func TestScaleMovesOnlyMu(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := anyMixture(t)
		first, err := maximize(newData(readings, 1))
		if err != nil {
			return
		}
		power := rapid.IntRange(-60, 60).Draw(t, "power")
		for i := range readings {
			readings[i].Lower = math.Ldexp(readings[i].Lower, power)
			readings[i].Upper = math.Ldexp(readings[i].Upper, power)
		}
		second, err := maximize(newData(readings, 1))
		require.NoError(t, err)
		// Readings that all but agree leave rounding of their logs relative to the spread.
		tolerance := 1e-9 + 1e-13/first.sigma
		require.InDelta(t, first.mu+float64(power)*math.Ln2, second.mu, tolerance*(1+first.seMu))
		require.InEpsilon(t, first.sigma, second.sigma, tolerance)
		require.InEpsilon(t, first.seMu, second.seMu, 10*tolerance)
		require.InDelta(t, first.logLikelihood, second.logLikelihood, 10*tolerance*(1+math.Abs(first.logLikelihood)))
	})
}

// A reading known between two bounds that close on a point becomes a reading with that value.
func TestBetweenShrinksToAValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := append(anyMixture(t), reading.At(0.7))
		want, err := maximize(newData(readings, 1))
		if err != nil || want.sigma < 1e-3 {
			return
		}
		last := len(readings) - 1
		for _, width := range []float64{1e-3, 1e-6} {
			readings[last] = reading.Within(0.7*(1-width), 0.7*(1+width))
			got, err := maximize(newData(readings, 1))
			require.NoError(t, err)
			tolerance := 1e-9 + 100*width*width/(want.sigma*want.sigma)
			require.InDelta(t, want.mu, got.mu, tolerance*(want.seMu+want.sigma))
			require.InDelta(t, want.sigma, got.sigma, tolerance*want.sigma*(1+want.seLogSigma))
		}
	})
}

// With values and below only, one more reading below a limit under the geometric mean never raises the geometric mean.
func TestOneMoreBelowNeverRaisesTheMean(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := anyReadings(t, reading.Detected, reading.Below)
		before, err := maximize(newData(readings, 1))
		if err != nil {
			return
		}
		limit := math.Exp(before.mu - rapid.Float64Range(0, 4).Draw(t, "under"))
		after, err := maximize(newData(append(readings, reading.Under(limit)), 1))
		require.NoError(t, err)
		require.LessOrEqual(t, after.mu, before.mu+1e-12*(1+math.Abs(before.mu)))
	})
}

// Readings on scales that differ by many powers of ten still settle, and at a point where the slopes vanish.
func TestMaximumOfExtremeData(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		spread := math.Pow(10, rapid.Float64Range(-13, 2).Draw(t, "spread"))
		away := math.Pow(10, rapid.Float64Range(-13, 2).Draw(t, "away"))
		at := rapid.Float64Range(-1, 1)
		d := onScale([]float64{0, spread, spread * at.Draw(t, "inner")}, []bound{{away * at.Draw(t, "below"), 3}},
			[]bound{{away * at.Draw(t, "above"), 1}}, nil)
		m, err := maximize(d)
		require.NoError(t, err)
		s := likelihood{d: &d}.at(m.mu/m.sigma, 1/m.sigma)
		_, _, gain := s.newton()
		require.Less(t, gain, 1e-9)
	})
}

// Readings that differ from a limit by the last bit have a maximum, with a spread of that size.
func TestMaximumAtTheLastBit(t *testing.T) {
	t.Parallel()
	for _, y := range []float64{1, -7.3, 709, -1e-16} {
		m, err := maximize(onScale(repeat(y, 3), []bound{{math.Nextafter(y, -1e9), 1}}, nil, nil))
		require.NoError(t, err, y)
		require.InDelta(t, y, m.mu, 1e-13*math.Abs(y))
		require.Less(t, m.sigma, 1e-15*math.Abs(y))
	}
}
