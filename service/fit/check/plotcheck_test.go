package check

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// drawBelow draws n lognormal readings of which about the fraction c lies below a limit, the same for all or one of three.
func drawBelow(rng *rand.Rand, n int, c float64, limits ...float64) []reading.Reading {
	middle := numeric.NormalQuantile(c)
	out := make([]reading.Reading, n)
	for i := range out {
		y, at := rng.NormFloat64(), middle+limits[rng.IntN(len(limits))]
		if y < at {
			out[i] = reading.Under(math.Exp(at))
		} else {
			out[i] = reading.At(math.Exp(y))
		}
	}
	return out
}

// A lognormal group is called in question about as often as the p-value says. Simulation with a fixed seed; the bounds are what
// Plot promises, 3 to 7 %, and 2.5 standard errors of 3,000 groups.
func TestPlotCheckSize(t *testing.T) {
	t.Parallel()
	const groups = 3000
	for _, c := range []struct {
		n      int
		share  float64
		limits []float64
	}{
		{12, 0.4, []float64{0}},
		{20, 0.4, []float64{-0.7, 0, 0.7}},
		{20, 0.6, []float64{0}},
		{50, 0.8, []float64{0}},
	} {
		rng := rand.New(rand.NewPCG(uint64(c.n), 1))
		poor, judged := 0.0, 0.0
		for range groups {
			check := Plot(drawBelow(rng, c.n, c.share, c.limits...))
			if math.IsNaN(check.PValue) {
				continue
			}
			judged++
			if check.PValue < 0.05 {
				poor++
			}
		}
		require.InDelta(t, 0.05, poor/judged, 0.03, "%+v", c)
	}
}

// Readings from a group that is anything but lognormal are called in question.
func TestPlotCheckFindsAPoorFit(t *testing.T) {
	t.Parallel()
	poor := samples.Mixed([]float64{1.01, 1.02, 1.03, 1.05, 1.04, 1.06, 1.07, 60, 61, 63, 62, 64}, 1, 1, 1)
	require.Less(t, Plot(poor).PValue, 0.01)
	good := Plot(samples.Manganese())
	require.Greater(t, good.PValue, 0.05)
	require.Greater(t, good.Correlation, 0.99)
	require.Len(t, good.Points, 25)
}

func TestPlotCheckOfFewReadings(t *testing.T) {
	t.Parallel()
	for _, readings := range [][]reading.Reading{
		nil, samples.Mixed([]float64{1, 2}, 1), samples.Mixed([]float64{1, 1, 2, 2}, 1), samples.Mixed(nil, 1, 2), samples.Mixed(samples.Repeat(3, 9), 1),
	} {
		check := Plot(readings)
		require.True(t, math.IsNaN(check.Correlation))
		require.True(t, math.IsNaN(check.PValue))
		require.Len(t, check.Points, len(readings))
	}
	four := Plot(samples.Mixed([]float64{1, 2, 3, 5}, 1))
	require.Greater(t, four.Correlation, 0.9)
	require.True(t, math.IsNaN(four.PValue))
	// A straight plot: the correlation never passes 1.
	var straight []reading.Reading
	for _, z := range NormalScores(9) {
		straight = append(straight, reading.At(math.Exp(z)))
	}
	perfect := Plot(straight)
	require.InDelta(t, 1, perfect.Correlation, 1e-15)
	require.LessOrEqual(t, perfect.Correlation, 1.0)
	require.InDelta(t, 1, perfect.PValue, 1e-6)
}

// The p-value rises with the correlation and passes 50, 5 and 1 % where the formulas say.
func TestPlotTailIsMonotone(t *testing.T) {
	t.Parallel()
	for _, c := range [][2]int{{5, 5}, {5, 40}, {12, 20}, {100, 300}, {1000, 2000}} {
		last := 0.0
		for i := range 1000 {
			p := plotTail(float64(i)/1000, c[0], c[1])
			require.GreaterOrEqual(t, p, last)
			last = p
		}
		require.LessOrEqual(t, last, 1.0)
	}
}

func BenchmarkPlot(b *testing.B) {
	for _, id := range []string{"M08", "X05"} {
		readings := samples.Groups(b, "censored_samples.json")[id].Readings(b)
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Plot(readings)
			}
		})
	}
}
