package variance

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
)

// TestLimits compares with another order of integration. Source: variance_limits.csv (mpmath, computed for this project).
func TestLimits(t *testing.T) {
	t.Parallel()
	readings := campaigns(t)
	for _, row := range reference.Rows(t, "variance_limits.csv") {
		r := partition(t, readings[row["id"]], Options{Confidence: row.Float(t, "confidence")})
		name := row["id"] + " " + row["confidence"]
		// The table has 12 digits of the limits between.
		require.LessOrEqual(t, relative(r.Between.Lower, row.Float(t, "between_lower")), 2e-11, name)
		require.LessOrEqual(t, relative(r.Between.Upper, row.Float(t, "between_upper")), 2e-11, name)
		require.LessOrEqual(t, relative(r.Within.Lower, row.Float(t, "within_lower")), 2e-13, name)
		require.LessOrEqual(t, relative(r.Within.Upper, row.Float(t, "within_upper")), 2e-13, name)
		require.InDelta(t, math.Log(ratio(1))*r.Between.Upper, math.Log(r.Ratio.Upper), 1e-12)
	}
}

// TestChance holds limits of the chance. Source: mpmath, computed for this project by a double integral over theta and the chi-square of
// the total squares: the limits below have probabilities 0.05 and 0.95 to 10 digits.
func TestChance(t *testing.T) {
	t.Parallel()
	readings := campaigns(t)
	rows := []struct {
		id                  string
		limit, lower, upper float64
	}{
		{"iron", 250, 0.00910521105063, 0.648291082147},
		{"V07", 2, 0.0523316591695, 0.784172262222},
		{"V11", 0.06, 0.267629026683, 0.939632558149},
	}
	for _, row := range rows {
		l := math.Log(row.limit)
		r := partition(t, readings[row.id], Options{LogLimit: &l})
		// Nodes in theta are spaced for eight digits.
		require.LessOrEqual(t, relative(r.Chance.Lower, row.lower), 1e-7, row.id)
		require.LessOrEqual(t, relative(r.Chance.Upper, row.upper), 1e-7, row.id)
		// The formula of the estimate (BOHS/NVvA 2011, from memory): Phi((mu + 1.645 sigma_w - ln L)/sigma_b).
		e := r.Restricted
		require.InDelta(t, numeric.NormalCDF((e.Mu+1.6448536269514722*e.Within-l)/e.Between), r.Chance.Estimate, 1e-14)
	}
}

// TestChanceOfManyZones: with a hundred zones the nodes' masses may add up to more than 1 by rounding, which once left the upper limit
// without an answer.
func TestChanceOfManyZones(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 1))
	l := 1.9
	for range 6 {
		r := partition(t, truth{zones: 100, readings: 3, share: 0.8}.draw(rng, 0), Options{LogLimit: &l})
		require.Less(t, r.Chance.Lower, r.Chance.Estimate)
		require.Less(t, r.Chance.Estimate, r.Chance.Upper)
		require.Positive(t, r.Chance.Lower)
		require.Less(t, r.Chance.Upper, 0.5)
	}
}

// TestChanceAtTheEnds looks at limits far from all zones, where the chance is 0 or 1 for certain.
func TestChanceAtTheEnds(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"iron", "V08"} {
		for _, end := range []float64{0, 1} {
			l := 400 - 800*end
			r := partition(t, campaigns(t)[id], Options{LogLimit: &l})
			require.InDelta(t, end, r.Chance.Estimate, 1e-12)
			require.InDelta(t, end, r.Chance.Lower, 1e-3)
			require.InDelta(t, end, r.Chance.Upper, 1e-3)
		}
	}
}

// TestShare: the limits of the share are those of an F statistic (Wald 1940, from memory). In a balanced layout with n readings
// a zone the F at the limit is F/(1 + n theta), which turns into the tail probability asked for.
func TestShare(t *testing.T) {
	t.Parallel()
	r := partition(t, iron(), Options{})
	tail := func(share float64) float64 {
		return numeric.FSurvival(5, 18, r.Test.Statistic/(1+4*share/(1-share)))
	}
	require.InDelta(t, 0.05, tail(r.Share.Lower), 1e-10)
	require.InDelta(t, 0.95, tail(r.Share.Upper), 1e-10)
}

// TestLowerLimitGoesWithTheTest: sigma_b has a lower limit above 0 exactly when the F test rejects at 1 - confidence.
func TestLowerLimitGoesWithTheTest(t *testing.T) {
	t.Parallel()
	p := partition(t, iron(), Options{}).Test.PValue
	for _, side := range []float64{-1e-6, 1e-6} {
		r := partition(t, iron(), Options{Confidence: 1 - p + side})
		if side < 0 {
			require.Positive(t, r.Between.Lower)
			require.Positive(t, r.Share.Lower)
			continue
		}
		require.Zero(t, r.Between.Lower)
		require.Zero(t, r.Share.Lower)
	}
}

// TestEqualMeans: the means of all zones are the same, so the F statistic is 0 and the median rule gives the upper limit. With three
// zones the chi-square between has two degrees of freedom, whose density is flat near 0, so that the median is where
// squares(theta) is half of squares(0): n theta = 1, on average over sigma_w. Own derivation.
func TestEqualMeans(t *testing.T) {
	t.Parallel()
	l := math.Log(300)
	r := partition(t, sheet([]float64{1, 2, 4}, []float64{4, 1, 2}, []float64{2, 4, 1}), Options{LogLimit: &l})
	require.InDelta(t, 1, r.Test.PValue, 1e-12)
	require.Zero(t, r.Between.Estimate)
	require.Zero(t, r.Between.Lower)
	require.Zero(t, r.Chance.Lower)
	require.InDelta(t, r.Within.Estimate/math.Sqrt(3), r.Between.Upper, 0.3*r.Between.Upper)
}
