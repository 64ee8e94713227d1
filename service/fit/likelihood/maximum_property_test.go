package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/reading"
)

func TestOrderOfReadingsNeverMatters(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		first, err := Maximize(NewData(readings, 1))
		second, again := Maximize(NewData(rapid.Permutation(readings).Draw(t, "order"), 1))
		require.Equal(t, err, again)
		require.Equal(t, first, second)
	})
}

// Scaling all readings by a constant moves mu by its log and nothing else.
func TestScaleMovesOnlyMu(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		first, err := Maximize(NewData(readings, 1))
		if err != nil {
			return
		}
		power := rapid.IntRange(-60, 60).Draw(t, "power")
		for i := range readings {
			readings[i].Lower = math.Ldexp(readings[i].Lower, power)
			readings[i].Upper = math.Ldexp(readings[i].Upper, power)
		}
		second, err := Maximize(NewData(readings, 1))
		require.NoError(t, err)
		// Readings that all but agree leave rounding of their logs relative to the spread.
		tolerance := 1e-9 + 1e-13/first.Sigma
		require.InDelta(t, first.Mu+float64(power)*math.Ln2, second.Mu, tolerance*(1+first.MuError))
		require.InEpsilon(t, first.Sigma, second.Sigma, tolerance)
		require.InEpsilon(t, first.MuError, second.MuError, 10*tolerance)
		require.InDelta(t, first.LogLikelihood, second.LogLikelihood, 10*tolerance*(1+math.Abs(first.LogLikelihood)))
	})
}

// A reading known between two bounds that close on a point becomes a reading with that value.
func TestBetweenShrinksToAValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := append(samples.AnyMixture(t), reading.At(0.7))
		want, err := Maximize(NewData(readings, 1))
		if err != nil || want.Sigma < 1e-3 {
			return
		}
		last := len(readings) - 1
		for _, width := range []float64{1e-3, 1e-6} {
			readings[last] = reading.Within(0.7*(1-width), 0.7*(1+width))
			got, err := Maximize(NewData(readings, 1))
			require.NoError(t, err)
			tolerance := 1e-9 + 100*width*width/(want.Sigma*want.Sigma)
			require.InDelta(t, want.Mu, got.Mu, tolerance*(want.MuError+want.Sigma))
			require.InDelta(t, want.Sigma, got.Sigma, tolerance*want.Sigma*(1+want.LogSpreadError))
		}
	})
}

// With values and below only, one more reading below a limit under the geometric mean never raises the geometric mean.
func TestOneMoreBelowNeverRaisesTheMean(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyReadings(t, reading.Detected, reading.Below)
		before, err := Maximize(NewData(readings, 1))
		if err != nil {
			return
		}
		limit := math.Exp(before.Mu - rapid.Float64Range(0, 4).Draw(t, "under"))
		after, err := Maximize(NewData(append(readings, reading.Under(limit)), 1))
		require.NoError(t, err)
		require.LessOrEqual(t, after.Mu, before.Mu+1e-12*(1+math.Abs(before.Mu)))
	})
}

// Readings on scales that differ by many powers of ten still settle, and at a point where the slopes vanish.
func TestMaximumOfExtremeData(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		spread := math.Pow(10, rapid.Float64Range(-13, 2).Draw(t, "spread"))
		away := math.Pow(10, rapid.Float64Range(-13, 2).Draw(t, "away"))
		at := rapid.Float64Range(-1, 1)
		d := onScale([]float64{0, spread, spread * at.Draw(t, "inner")}, []Bound{{away * at.Draw(t, "below"), 3}},
			[]Bound{{away * at.Draw(t, "above"), 1}}, nil)
		m, err := Maximize(d)
		require.NoError(t, err)
		s := Function{Data: &d}.At(m.Mu/m.Sigma, 1/m.Sigma)
		_, _, gain := s.newton()
		require.Less(t, gain, 1e-9)
	})
}

// Readings that differ from a limit by the last bit have a maximum, with a spread of that size.
func TestMaximumAtTheLastBit(t *testing.T) {
	t.Parallel()
	for _, y := range []float64{1, -7.3, 709, -1e-16} {
		m, err := Maximize(onScale(samples.Repeat(y, 3), []Bound{{math.Nextafter(y, -1e9), 1}}, nil, nil))
		require.NoError(t, err, y)
		require.InDelta(t, y, m.Mu, 1e-13*math.Abs(y))
		require.Less(t, m.Sigma, 1e-15*math.Abs(y))
	}
}
