package variance

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
)

// tally counts how often limits hold.
type tally struct {
	drawn, answered                                                                float64
	betweenLower, betweenUpper, withinLower, withinUpper, chanceLower, chanceUpper float64
	// rejected counts F tests at 5 %, outside groups with a zone said not to belong, split groups that were split.
	rejected, outside, split float64
}

// cover draws groups and counts. The limit is such that the chance of a zone's own 95th percentile above it is 0.1.
func cover(tb testing.TB, g truth, draws int, seed uint64) tally {
	tb.Helper()
	between, within := g.sigmas()
	const chance = 0.1
	bound := 0.0
	if g.below > 0 {
		bound = math.Exp(numeric.NormalQuantile(g.below))
	}
	limit := numeric.NormalQuantile(0.95)*within - numeric.NormalQuantile(chance)*between
	rng := rand.New(rand.NewPCG(seed, 1))
	var t tally
	count := func(to *float64, holds bool) {
		if holds {
			*to++
		}
	}
	for range draws {
		t.drawn++
		r, err := Partition(g.draw(rng, bound), zoneOf, Options{LogLimit: &limit})
		var f *fault.Error
		if errors.As(err, &f) && f.Code == fault.Undetermined || err == nil && math.IsNaN(r.Between.Upper) {
			continue
		}
		require.NoError(tb, err)
		t.answered++
		count(&t.betweenLower, r.Between.Lower <= between)
		count(&t.betweenUpper, r.Between.Upper >= between)
		count(&t.withinLower, r.Within.Lower <= within)
		count(&t.withinUpper, r.Within.Upper >= within)
		count(&t.chanceLower, r.Chance.Lower <= chance)
		count(&t.chanceUpper, r.Chance.Upper >= chance)
		count(&t.rejected, r.Test.PValue < 0.05)
		count(&t.outside, len(r.Pooling.Outsiders) > 0)
		count(&t.split, r.Split != nil)
	}
	return t
}

// skipCounting skips simulations in the short run, which is the one under the race detector.
func skipCounting(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("counts limits that hold")
	}
}

// TestCoverage holds the limits of groups whose readings all have a value to their promise of 95 %, within three standard errors of
// the simulation (fixed seed). Those of sigma_w and of the share are exact in theory, the others nearly so: 400 draws at each of 45
// settings (5 to 20 zones, 2 to 10 readings, shares of 0 to 0.8) gave 0.91 to 1, with a standard error of 0.011.
func TestCoverage(t *testing.T) {
	t.Parallel()
	skipCounting(t)
	for i, g := range []truth{
		{zones: 5, readings: 2, share: 0.2, equal: true},
		{zones: 5, readings: 10, share: 0.5},
		{zones: 10, readings: 4, share: 0.05},
		{zones: 20, readings: 2, share: 0.8, equal: true},
	} {
		const draws = 250
		c := cover(t, g, draws, uint64(i))
		least := 0.95 - 3*math.Sqrt(0.95*0.05/draws)
		for name, n := range map[string]float64{
			"between lower": c.betweenLower, "between upper": c.betweenUpper, "within lower": c.withinLower, "within upper": c.withinUpper,
			"chance lower": c.chanceLower, "chance upper": c.chanceUpper,
		} {
			require.GreaterOrEqual(t, n/c.answered, least, "%s of %+v", name, g)
		}
		require.LessOrEqual(t, c.outside/c.answered, 0.05+3*math.Sqrt(0.95*0.05/draws), "zones said not to belong in %+v", g)
		require.InDelta(t, draws, c.answered, 0)
	}
}

// TestWithoutVariationBetween: with sigma_b = 0 the F test rejects as often as it promises, every upper limit of sigma_b holds, and
// groups are hardly ever split.
func TestWithoutVariationBetween(t *testing.T) {
	t.Parallel()
	skipCounting(t)
	const draws = 300
	c := cover(t, truth{zones: 8, readings: 3}, draws, 11)
	require.InDelta(t, 0.05, c.rejected/draws, 3*math.Sqrt(0.95*0.05/draws))
	require.InDelta(t, draws, c.betweenUpper, 0)
	require.LessOrEqual(t, c.split/draws, 0.02)
	require.LessOrEqual(t, c.outside/draws, 0.05+3*math.Sqrt(0.95*0.05/draws))
}

// TestCensoredCoverage says how close the approximate limits come to 95 % when 40 % of the readings are below a reporting limit. 200
// draws at each of 40 settings (5 to 20 zones, 2 to 10 readings, shares of 0 to 0.8) gave 0.89 to 1 with 20 % below, 0.87 to 1 with
// 40 % and 0.83 to 1 with 60 %, with a standard error of 0.015; the lowest are the lower limits of sigma_w with few readings.
func TestCensoredCoverage(t *testing.T) {
	t.Parallel()
	skipCounting(t)
	for i, g := range []truth{{zones: 10, readings: 4, share: 0.3, below: 0.4}, {zones: 6, readings: 5, share: 0.7, below: 0.4}} {
		const draws = 120
		c := cover(t, g, draws, uint64(i)+20)
		slack := 3 * math.Sqrt(0.9*0.1/draws)
		for name, n := range map[string]float64{
			"between lower": c.betweenLower, "between upper": c.betweenUpper, "within lower": c.withinLower, "within upper": c.withinUpper,
			"chance lower": c.chanceLower, "chance upper": c.chanceUpper,
		} {
			t.Logf("%s of %+v: %.3f", name, g, n/c.answered)
			require.GreaterOrEqual(t, n/c.answered, 0.9-slack, "%s of %+v", name, g)
		}
		require.GreaterOrEqual(t, c.answered, 0.9*draws)
	}
}
