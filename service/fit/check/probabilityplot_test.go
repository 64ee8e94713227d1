package check_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/check"
)

// plotCorrelation returns the correlation of an ascending sample with its normal scores, as a probability plot shows it.
func plotCorrelation(sample []float64) float64 {
	scores := check.NormalScores(len(sample))
	mean := 0.0
	for _, x := range sample {
		mean += x / float64(len(sample))
	}
	var xx, xy, yy float64
	for i, x := range sample {
		xx += (x - mean) * (x - mean)
		xy += (x - mean) * scores[i]
		yy += scores[i] * scores[i]
	}
	return xy / math.Sqrt(xx*yy)
}

// Source: mpmath, quantiles of (i - 3/8)/(n + 1/4) in 30 digits.
func TestNormalScores(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		n    int
		want []float64
	}{
		{1, []float64{0}},
		{2, []float64{-0.58945579784977834, 0.58945579784977834}},
		{5, []float64{-1.179761117611861, -0.49720057068155405, 0, 0.49720057068155405, 1.179761117611861}},
	} {
		require.InDeltaSlice(t, c.want, check.NormalScores(c.n), 1e-15, "n=%d", c.n)
	}
	require.Empty(t, check.NormalScores(0))
	require.Empty(t, check.NormalScores(-1))
	// The ends of a large sample.
	scores := check.NormalScores(5000)
	require.InDelta(t, -3.6622727355848315, scores[0], 1e-13)
	require.InDelta(t, -0.00025065029757289398, scores[2499], 1e-16)
	for i := range scores {
		require.Equal(t, -scores[i], scores[4999-i], "rank %d", i+1)
	}
}

// Source: USEPA Unified Guidance EPA 530/R-09-007 (2009), Example 10, nickel: correlation coefficient of the probability
// plot with Blom's positions, seven decimals.
func TestNormalScoresPublished(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 0.9912528, plotCorrelation(logsOf(nickel())), 5e-8)
	raw := nickel()
	slices.Sort(raw)
	require.InDelta(t, 0.8199825, plotCorrelation(raw), 5e-8)
}

func TestAppendNormalScores(t *testing.T) {
	t.Parallel()
	dst := check.AppendNormalScores(make([]float64, 0, 8), 3)
	dst = check.AppendNormalScores(dst, 5)
	require.Equal(t, append(check.NormalScores(3), check.NormalScores(5)...), dst)
}

func BenchmarkAppendNormalScores20(b *testing.B) {
	room := make([]float64, 0, 20)
	b.ReportAllocs()
	for b.Loop() {
		_ = check.AppendNormalScores(room, 20)
	}
}
