package logmean_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric/logmean"
)

func pivotal(t require.TestingT, n int, sd, p float64) float64 {
	got, err := logmean.Pivotal(n, 0, sd, p)
	require.NoError(t, err, "n=%d sd=%v p=%v", n, sd, p)
	return got
}

// Source: testdata/reference/lognormal_mean_limits.csv, column gpq_ln (40-digit arithmetic, 20 printed).
func TestPivotalReference(t *testing.T) {
	t.Parallel()
	for _, row := range reference.Rows(t, "lognormal_mean_limits.csv") {
		n, sd, p := row.Int(t, "n"), row.Float(t, "s"), row.Float(t, "p")
		want := row.Float(t, "gpq_ln")
		require.InDelta(t, want, pivotal(t, n, sd, p), within(1e-10, want, n, sd), "%v", row)
	}
}

// Far corners. Source: both tails integrated over ln U in 34-digit arithmetic (mpmath); they add up to 1 within 4e-31,
// and the roots are good to 1e-20.
func TestPivotalWide(t *testing.T) {
	t.Parallel()
	for _, c := range wideLimits() {
		if math.IsNaN(c.pivotal) {
			continue
		}
		require.InDelta(t, c.pivotal, pivotal(t, c.n, c.sd, c.p), within(2e-10, c.pivotal, c.n, c.sd), "%+v", c)
	}
}

// As the spread of the logs vanishes, sd²/2 does too and the limit becomes Student's: mean + t sd/sqrt(n).
func TestPivotalNarrow(t *testing.T) {
	t.Parallel()
	for _, n := range []int{3, 20, 300} {
		student := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}
		for _, p := range []float64{0.05, 0.7, 0.99} {
			const sd = 1e-12
			require.InEpsilon(t, student.Quantile(p), pivotal(t, n, sd, p)*math.Sqrt(float64(n))/sd, 1e-8)
		}
	}
}

// Whatever the sample: a finite limit that rises with p and moves with the mean of the logs.
func TestPivotalProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.OneOf(rapid.IntRange(2, 40), rapid.IntRange(2, 1_000_000)).Draw(t, "n")
		sd := math.Exp(rapid.Float64Range(-40, 7).Draw(t, "ln sd"))
		low := rapid.Float64Range(2e-6, 0.999).Draw(t, "p")
		high := low + (0.999998-low)*rapid.Float64Range(0.01, 1).Draw(t, "step")
		a, b := pivotal(t, n, sd, low), pivotal(t, n, sd, high)
		require.False(t, math.IsNaN(a) || math.IsInf(a, 0) || math.IsNaN(b) || math.IsInf(b, 0))
		require.Less(t, a, b)
		moved, err := logmean.Pivotal(n, 3, sd, low)
		require.NoError(t, err)
		require.Equal(t, a+3, moved)
	})
}

func BenchmarkPivotalLogMean20(b *testing.B) {
	for _, c := range []struct {
		name  string
		sd, p float64
	}{
		{"lower95", 1, 0.05},
		{"upper95", 1, 0.95},
		{"upper99wide", 2, 0.99},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = logmean.Pivotal(20, 0, c.sd, c.p)
			}
		})
	}
}
