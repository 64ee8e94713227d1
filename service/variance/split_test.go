package variance

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestCutIsTheBestOfAll compares the dynamic programming with every contiguous division.
func TestCutIsTheBestOfAll(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	for range 50 {
		zones := make([]own, 8)
		for i := range zones {
			zones[i] = own{n: float64(1 + rng.IntN(5)), mean: rng.NormFloat64(), count: 1}
		}
		l := layout{classes: classify(zones), between: 7, within: 12, squares: 10}
		s := newSplitter(&l, zones)
		at := point{theta: rng.Float64(), variance: 0.1 + rng.Float64()}
		sums := newSums(s.zones, at.theta)
		cost := func(cuts []int) float64 {
			total := 0.0
			for h := 1; h < len(cuts); h++ {
				total += sums.squares(cuts[h-1], cuts[h])/at.variance + s.labels[cuts[h]-cuts[h-1]]
			}
			return total
		}
		best := math.Inf(1)
		for a := 1; a < 7; a++ {
			for b := a + 1; b < 8; b++ {
				best = math.Min(best, cost([]int{0, a, b, 8}))
			}
		}
		require.InDelta(t, best, cost(s.cut(3, at)), 1e-9)
	}
}

// TestSplitFindsTwoGroups: four low and three high zones.
func TestSplitFindsTwoGroups(t *testing.T) {
	t.Parallel()
	r := partition(t, sheet(
		[]float64{0.9, 1.3, 0.7, 1.1}, []float64{10, 7, 13, 9}, []float64{1.2, 0.8, 1.0, 1.5}, []float64{8, 12, 15, 10},
		[]float64{1.0, 0.6, 1.4, 0.9}, []float64{11, 9, 14, 8}, []float64{0.8, 1.1, 1.6, 1.0}), Options{})
	require.False(t, r.Pooling.Pool)
	require.NotNil(t, r.Split)
	require.Len(t, r.Split.Groups, 2)
	require.Equal(t, []string{"B", "D", "F"}, r.Split.Groups[0].Zones)
	require.Equal(t, []string{"A", "C", "E", "G"}, r.Split.Groups[1].Zones)
	require.Equal(t, 12, r.Split.Groups[0].Readings)
	// Without variation left within the groups, their geometric means are those of their readings: by hand.
	high := []float64{10, 7, 13, 9, 8, 12, 15, 10, 11, 9, 14, 8}
	mean := 0.0
	for _, v := range high {
		mean += math.Log(v) / 12
	}
	require.InDelta(t, math.Exp(mean), r.Split.Groups[0].GeometricMean, 1e-9)
	require.Greater(t, r.Split.Advantage, 6.0)
	require.Contains(t, r.Split.Reason, "2 groups explain the readings better than one group whose zones vary at random: BIC is lower by ")
	require.Empty(t, r.Pooling.Outsiders, "two groups are not outsiders of each other")
}

// TestNoSplitOfAnEvenSpread: zones spread evenly are not groups, however unlike they are.
func TestNoSplitOfAnEvenSpread(t *testing.T) {
	t.Parallel()
	rows := make([][]float64, 12)
	for i := range rows {
		level := math.Exp(0.4 * float64(i))
		rows[i] = []float64{0.7 * level, level, 1.5 * level}
	}
	r := partition(t, sheet(rows...), Options{})
	require.False(t, r.Pooling.Pool)
	require.Nil(t, r.Split)
}

// TestTwoZonesApart: two zones far apart are proposed to be judged one by one.
func TestTwoZonesApart(t *testing.T) {
	t.Parallel()
	r := partition(t, sheet([]float64{1, 1.2, 0.9, 1.1, 1}, []float64{20, 30, 25, 22, 28}), Options{})
	require.False(t, r.Pooling.Pool)
	require.NotNil(t, r.Split)
	require.Equal(t, []string{"B"}, r.Split.Groups[0].Zones)
	require.Equal(t, []string{"A"}, r.Split.Groups[1].Zones)
}
