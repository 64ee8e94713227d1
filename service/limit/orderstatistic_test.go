package limit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/reading"
)

// ranked is n detected readings 1..n, so that a limit is its rank.
func ranked(n int) []reading.Reading {
	out := make([]reading.Reading, n)
	for i := range out {
		out[i] = reading.At(float64(i + 1))
	}
	return out
}

// Source: first-order sample sizes of the distribution-free tolerance limit, the handbooks' standard numbers.
func TestReadingsNeeded(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		fraction, confidence float64
		n                    int
	}{
		{0.95, 0.95, 59},
		{0.90, 0.95, 29},
		{0.95, 0.90, 45},
		{0.95, 0.70, 24},
		{0.90, 0.90, 22},
		{0.99, 0.95, 299},
		{0.95, 0.99, 90},
		{0.5, 0.75, 2},
		{0.5, 0.5, 1},
		{0.01, 0.5, 1},
		{0, 0.95, 0},
		{1, 0.95, 0},
		{0.95, 1, 0},
		{math.NaN(), 0.9, 0},
		{math.Nextafter(1, 0), 0.95, 0},
	} {
		require.Equal(t, c.n, ReadingsNeeded(c.fraction, c.confidence), "%+v", c)
		if c.n < 2 {
			continue
		}
		_, upper := PercentileByRank(ranked(c.n), c.fraction, c.confidence)
		require.Equal(t, c.n, upper.Rank, "%+v", c)
		require.Equal(t, float64(c.n), upper.Value)
		_, upper = PercentileByRank(ranked(c.n-1), c.fraction, c.confidence)
		require.Equal(t, 0, upper.Rank, "%+v", c)
		require.True(t, math.IsNaN(upper.Value))
		require.True(t, math.IsNaN(upper.Confidence))
		require.Equal(t, c.n, upper.Needed)
	}
}

// Source: USEPA Unified Guidance EPA 530/R-09-007 (2009), example 17-4: the largest of 24 readings bounds 88 % of the
// exposures with 95 % confidence; example 21-5: rank 4 of 16 is under the median with 98.94 %.
func TestRanksOfHandbookExamples(t *testing.T) {
	t.Parallel()
	coverage := math.Pow(1-0.95, 1.0/24)
	require.InDelta(t, 0.88, coverage, 5e-3)
	_, upper := PercentileByRank(ranked(24), coverage-1e-9, 0.95)
	require.Equal(t, 24, upper.Rank)
	_, upper = PercentileByRank(ranked(24), coverage+1e-9, 0.95)
	require.Zero(t, upper.Rank)
	lower, _ := PercentileByRank(ranked(16), 0.5, 0.98)
	require.Equal(t, 4, lower.Rank)
	require.Equal(t, 4.0, lower.Value)
	require.InDelta(t, 0.9894, lower.Confidence, 5e-5)
}

// The ranks are the outermost that keep the confidence, by the binomial sums written out.
func TestRanksAgainstPlainSums(t *testing.T) {
	t.Parallel()
	for n := 1; n <= 70; n += 3 {
		for _, fraction := range []float64{0.1, 0.5, 0.9, 0.95, 0.99} {
			for _, confidence := range []float64{0.5, 0.7, 0.95, 0.99} {
				lower, upper := PercentileByRank(ranked(n), fraction, confidence)
				wantUpper, wantLower := 0, 0
				sum := 0.0
				for r := 1; r <= n; r++ {
					sum += probability(n, r-1, fraction)
					if sum >= confidence-1e-12 && wantUpper == 0 {
						wantUpper = r
						require.InDelta(t, sum, upper.Confidence, 1e-12)
					}
					if 1-sum >= confidence-1e-12 {
						wantLower = r
					}
				}
				require.Equal(t, wantUpper, upper.Rank, "n %d fraction %v confidence %v", n, fraction, confidence)
				require.Equal(t, wantLower, lower.Rank, "n %d fraction %v confidence %v", n, fraction, confidence)
			}
		}
	}
}

// probability is Pr(Bin(n, p) = k).
func probability(n, k int, p float64) float64 {
	v := 1.0
	for i := range k {
		v *= float64(n-i) / float64(i+1) * p
	}
	return v * math.Pow(1-p, float64(n-k))
}

// A reading without a value counts by its upper end for the upper limit and by its lower end for the lower one.
func TestRanksOfCensoredReadings(t *testing.T) {
	t.Parallel()
	readings := ranked(60)
	readings[10] = reading.Under(100)
	_, upper := PercentileByRank(readings, 0.95, 0.95)
	require.Equal(t, 60, upper.Rank)
	require.Equal(t, 100.0, upper.Value)
	readings[10] = reading.Over(2)
	_, upper = PercentileByRank(readings, 0.95, 0.95)
	require.Equal(t, 60, upper.Rank)
	require.True(t, math.IsNaN(upper.Value))
	lower, _ := PercentileByRank([]reading.Reading{reading.Under(5), reading.At(7), reading.Within(1, 9)}, 0.95, 0.995)
	require.Equal(t, 1, lower.Rank)
	require.Equal(t, 0.0, lower.Value)
	lower, _ = PercentileByRank([]reading.Reading{reading.At(7), reading.Within(1, 9)}, 0.95, 0.95)
	require.Equal(t, 1.0, lower.Value)
	lower, upper = PercentileByRank(nil, 0.95, 0.95)
	require.Equal(t, 0, lower.Rank+upper.Rank)
	require.Equal(t, 1, lower.Needed)
}

// Sources: intervals of Clopper and Pearson as R's binom.test gives them, from memory (2 of 10, two-sided 95 %: 0.02521073,
// 0.55609546); none of n: 1 - 0.05^(1/n), such as the rule of three.
func TestExceedanceByCount(t *testing.T) {
	t.Parallel()
	e := ExceedanceByCount(ranked(10), 8, 0.975)
	require.Equal(t, 2, e.Surely)
	require.Equal(t, 2, e.Possibly)
	require.Equal(t, 0.2, e.Estimate)
	require.InDelta(t, 0.02521073, e.Lower, 5e-9)
	require.InDelta(t, 0.55609546, e.Upper, 5e-9)
	e = ExceedanceByCount(ranked(59), 60, 0.95)
	require.Equal(t, 0.0, e.Estimate)
	require.Equal(t, 0.0, e.Lower)
	require.InDelta(t, 1-math.Pow(0.05, 1.0/59), e.Upper, 1e-15)
	require.Less(t, e.Upper, 0.05)
	require.Greater(t, ExceedanceByCount(ranked(58), 60, 0.95).Upper, 0.05)
	e = ExceedanceByCount(ranked(3), 0.5, 0.95)
	require.InDelta(t, math.Cbrt(0.05), e.Lower, 1e-15)
	require.Equal(t, 1.0, e.Upper)
	e = ExceedanceByCount(nil, 1, 0.95)
	require.True(t, math.IsNaN(e.Estimate))
	require.Equal(t, 0.0, e.Lower)
	require.Equal(t, 1.0, e.Upper)
	e = ExceedanceByCount(ranked(3), 2, 1)
	require.Equal(t, 1.0, e.Upper)
}

// The limits solve their equations, tiny probabilities and many readings included. A p next to 1 is spaced 1e-16, which moves
// the tail by 1e-10 of itself.
func TestBinomialLimitsSolveTheirEquations(t *testing.T) {
	t.Parallel()
	for _, n := range []int{2, 3, 17, 200, 5000} {
		for _, k := range []int{1, 2, n / 2, n - 1} {
			if k == 0 || k >= n {
				continue
			}
			for _, confidence := range []float64{0.5, 0.7, 0.95, 0.9999} {
				lower, upper := binomialLower(n, k, confidence), binomialUpper(n, k, confidence)
				require.InEpsilon(t, 1-confidence, binomialAtLeast(n, k, lower), 1e-9, "%d %d %v", n, k, confidence)
				require.InEpsilon(t, 1-confidence, binomialAtMost(n, k, upper), 1e-9, "%d %d %v", n, k, confidence)
				// What is above from one side is below from the other.
				require.InDelta(t, 1-upper, binomialLower(n, n-k, confidence), 1e-10)
			}
		}
	}
}

// Ambiguous readings widen the limits and never move one inwards, whatever their true values.
func TestCensoringOnlyWidensCountedLimits(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		truth := make([]reading.Reading, rapid.IntRange(1, 40).Draw(t, "n"))
		seen := make([]reading.Reading, len(truth))
		for i := range truth {
			v := rapid.Float64Range(0.01, 10).Draw(t, "value")
			bound := rapid.Float64Range(0.01, 10).Draw(t, "bound")
			truth[i] = reading.At(v)
			switch seen[i] = truth[i]; {
			case rapid.Bool().Draw(t, "detected"):
			case v < bound:
				seen[i] = reading.Under(bound)
			default:
				seen[i] = reading.Over(bound * (1 - 1e-9))
			}
		}
		limit := rapid.Float64Range(0.01, 10).Draw(t, "limit")
		want, got := ExceedanceByCount(truth, limit, 0.95), ExceedanceByCount(seen, limit, 0.95)
		require.LessOrEqual(t, got.Lower, want.Lower)
		require.GreaterOrEqual(t, got.Upper, want.Upper)
		require.LessOrEqual(t, got.Surely, want.Surely)
		require.GreaterOrEqual(t, got.Possibly, want.Possibly)
		wantLower, wantUpper := PercentileByRank(truth, 0.8, 0.9)
		gotLower, gotUpper := PercentileByRank(seen, 0.8, 0.9)
		require.Equal(t, wantLower.Rank, gotLower.Rank)
		require.Equal(t, wantUpper.Rank, gotUpper.Rank)
		if gotLower.Rank > 0 {
			require.LessOrEqual(t, gotLower.Value, wantLower.Value)
		}
		if gotUpper.Rank > 0 && !math.IsNaN(gotUpper.Value) {
			require.GreaterOrEqual(t, gotUpper.Value, wantUpper.Value)
		}
		shuffled := rapid.Permutation(seen).Draw(t, "order")
		require.Equal(t, math.IsNaN(got.Estimate), math.IsNaN(ExceedanceByCount(shuffled, limit, 0.95).Estimate))
		require.Equal(t, got.Upper, ExceedanceByCount(shuffled, limit, 0.95).Upper)
	})
}

// A reading at the limit is not above it; a reading above a range that ends at the limit is.
func TestReadingsAtTheLimit(t *testing.T) {
	t.Parallel()
	at := []reading.Reading{reading.At(1), reading.Under(1), reading.Within(0.5, 1)}
	e := ExceedanceByCount(at, 1, 0.95)
	require.Equal(t, 0, e.Possibly)
	e = ExceedanceByCount([]reading.Reading{reading.Over(1)}, 1, 0.95)
	require.Equal(t, 1, e.Surely)
	e = ExceedanceByCount([]reading.Reading{reading.Within(1, 2), reading.Under(1.5), reading.Over(0.9)}, 1, 0.95)
	require.Equal(t, 0, e.Surely)
	require.Equal(t, 3, e.Possibly)
	require.True(t, math.IsNaN(e.Estimate))
}

func BenchmarkDistributionFree(b *testing.B) {
	readings := ranked(60)
	slices.Reverse(readings)
	b.ReportAllocs()
	for b.Loop() {
		PercentileByRank(readings, 0.95, 0.95)
		ExceedanceByCount(readings, 55.5, 0.95)
	}
}
