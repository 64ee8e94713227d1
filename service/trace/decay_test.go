package trace_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

func every(d time.Duration, n int) []time.Time {
	out := make([]time.Time, n)
	for i := range out {
		out[i] = morning.Add(time.Duration(i) * d)
	}
	return out
}

// 1500 to 700 ppm in one hour over a background of 420 are ln(1080 / 280) = 1.34993 air changes an hour (the decay formula of the
// indoor-air literature; figure recomputed).
func TestDecayOfAnExactExponential(t *testing.T) {
	t.Parallel()
	values := make([]float64, 13)
	for i := range values {
		values[i] = 420 + 1080*math.Pow(280.0/1080, float64(i)/12)
	}
	require.InDelta(t, 700, values[12], 1e-9)
	a, err := trace.Decay(every(5*time.Minute, 13), values, 420, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 1.34993, a.Rate, 5e-6)
	require.InDelta(t, a.Rate, a.Lower, 1e-9)
	require.InDelta(t, a.Rate, a.Upper, 1e-9)
	require.Equal(t, 13, a.Values)
}

// Recomputed by the textbook formulae in another language, with t(0.95; 11) = 1.795885 from a table.
func TestDecayWithScatter(t *testing.T) {
	t.Parallel()
	values := []float64{1500, 1412, 1339, 1255, 1190, 1118, 1066, 1002, 955, 902, 862, 818, 785}
	a, err := trace.Decay(every(5*time.Minute, len(values)), values, 420, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 1.0919758215602584, a.Rate, 1e-9)
	require.InDelta(t, 0.2956488342721177, a.Correlation, 1e-9)
	require.InDelta(t, 0.021658708507965307, a.Upper-a.Rate, 1e-8)
	require.InDelta(t, 0.021658708507965307, a.Rate-a.Lower, 1e-8)
}

// Of 2,000 decays with independent scatter, 95 % should have their rate under the upper limit; three standard errors are 1.5 %.
// The widening for residuals that look correlated by chance may only add to it.
func TestDecayLimitsCover(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(1, 2))
	times, covered := every(2*time.Minute, 30), 0
	values := make([]float64, len(times))
	for range 2000 {
		for i := range values {
			values[i] = 420 + 1000*math.Exp(-2*float64(i)/30+0.05*random.NormFloat64())
		}
		a, err := trace.Decay(times, values, 420, 0.95)
		require.NoError(t, err)
		if 2 <= a.Upper {
			covered++
		}
	}
	require.Greater(t, covered, 1870)
	require.Less(t, covered, 1980)
}

func TestDecayRefuses(t *testing.T) {
	t.Parallel()
	times := every(time.Minute, 3)
	for _, c := range []struct {
		times                  []time.Time
		values                 []float64
		background, confidence float64
		want                   string
	}{
		{times[:2], []float64{3, 2}, 1, 0.9, "values: has 2 entries"},
		{times, []float64{3, 2}, 1, 0.9, "values: has 2 entries for 3 times"},
		{times, []float64{3, 2, 1}, 1, 0.9, "values: entry 2, of 2026-03-09T06:02:00Z, is 1, not above the background 1"},
		{times, []float64{3, math.NaN(), 2}, 1, 0.9, "values: entry 1, of 2026-03-09T06:01:00Z, is NaN"},
		{times, []float64{4, 3, 2}, -1, 0.9, "background: is -1"},
		{times, []float64{4, 3, 2}, 1, 1, "confidence: is 1"},
		{[]time.Time{morning, morning, morning}, []float64{4, 3, 2}, 1, 0.9, "times: entry 1 is not after"},
	} {
		_, err := trace.Decay(c.times, c.values, c.background, c.confidence)
		require.ErrorContains(t, err, c.want)
	}
}
