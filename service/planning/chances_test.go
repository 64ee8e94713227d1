package planning

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
)

// planned are the rules that have a chance.
func planned() []decision.Rule {
	return []decision.Rule{decision.EN689, decision.UpperLimit95, decision.Posterior, decision.MeanUpperLimit}
}

func chancesOf(tb testing.TB, p *Planner, rule decision.Rule, a Assumption, n int) Chances {
	tb.Helper()
	c, err := p.Chances(rule, a, n)
	require.NoError(tb, err)
	return c
}

// Source: testdata/reference/power.csv, 55-digit integrals confirmed by the beta series.
func TestPowerOfAPercentileLimit(t *testing.T) {
	t.Parallel()
	const tolerance = 1e-12 // relative
	var p Planner
	worst := 0.0
	for _, row := range reference.Rows(t, "power.csv") {
		n, conf := row.Int(t, "n"), row.Float(t, "conf")
		a, err := AssumeRatio(row.Float(t, "ratio"), row.Float(t, "gsd"))
		require.NoError(t, err)
		want := row.Float(t, "power")
		got := p.of(n).limitBelow(a.score, numeric.ToleranceFactor(n, 0.95, conf))
		worst = max(worst, math.Abs(got/want-1))
		if conf == 0.95 {
			require.Equal(t, got, chancesOf(t, &p, decision.UpperLimit95, a, n).Compliant)
			require.Equal(t, got, chancesOf(t, &p, decision.Posterior, a, n).Compliant)
		}
	}
	t.Logf("worst relative error %.2g", worst)
	require.Less(t, worst, tolerance)
}

// Source: testdata/reference/en689_power.csv, adaptive quadrature in 20 to 30 digits.
func TestPowerOfEN689(t *testing.T) {
	t.Parallel()
	const tolerance = 1e-12
	var p Planner
	for _, row := range reference.Rows(t, "en689_power.csv") {
		a, err := AssumeRatio(row.Float(t, "ratio"), row.Float(t, "gsd"))
		require.NoError(t, err)
		c := chancesOf(t, &p, decision.EN689, a, row.Int(t, "n"))
		require.InDelta(t, row.Float(t, "compliant"), c.Compliant, tolerance, "%v", row)
		require.InDelta(t, 1-row.Float(t, "compliant"), c.NotCompliant, tolerance, "%v", row)
	}
}

// At the boundary each limit errs with its own confidence, whatever the spread: that is what the confidence promises. The
// statistical test of EN 689 adds "no result above the limit", so a wrong COMPLIANT is rarer than its 30 %. Its preliminary
// test promises nothing: with a GSD above 6.6 three results pass it by luck more often than that.
func TestChancesAtTheBoundary(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, gsd := range []float64{1.2, 2, 3.5, 8} {
		sigma := math.Log(gsd)
		percentile, err := AssumeRatio(1, gsd)
		require.NoError(t, err)
		mean, err := Assume(1, gsd, math.Exp(0.5*sigma*sigma))
		require.NoError(t, err)
		for _, n := range []int{2, 3, 4, 5, 6, 10, 25, 60, 200} {
			c := chancesOf(t, &p, decision.UpperLimit95, percentile, n)
			require.InDelta(t, 0.05, c.Compliant, 1e-12)
			require.InDelta(t, 0.05, c.NotCompliant, 1e-12)
			if n >= 6 {
				require.LessOrEqual(t, chancesOf(t, &p, decision.EN689, percentile, n).Compliant, 0.3+1e-12)
			}
			// The margins of Land's limits are interpolated: to 1e-9 from 4 samples on, to 1e-6 for 3 and 1e-4 for 2, whose upper
			// limit is several times 1000 % of the estimate.
			tolerance := map[int]float64{2: 1e-4, 3: 1e-7}[n]
			c = chancesOf(t, &p, decision.MeanUpperLimit, mean, n)
			require.InDelta(t, 0.05, c.Compliant, max(tolerance, 1e-9), "n %d gsd %v", n, gsd)
			require.InDelta(t, 0.05, c.NotCompliant, max(tolerance, 1e-9), "n %d gsd %v", n, gsd)
		}
	}
}

// The preliminary test is a product of normal probabilities. With the geometric mean at the limit's 0.05 fold and a GSD of 2,
// the scores of 0.1 L and L are 1 and log2(20) (plain arithmetic).
func TestPreliminaryTestChances(t *testing.T) {
	t.Parallel()
	var p Planner
	a, err := Assume(0.05, 2, 1)
	require.NoError(t, err)
	phi := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
	for n, fraction := range map[int]float64{1: 0, 2: 0, 3: 0.1, 4: 0.15, 5: 0.2} {
		c := chancesOf(t, &p, decision.EN689, a, n)
		low := 0.0
		if fraction > 0 {
			low = math.Pow(phi(math.Log2(fraction/0.05)), float64(n))
		}
		require.InDelta(t, low, c.Compliant, 1e-14)
		require.InDelta(t, 1-math.Pow(phi(math.Log2(20)), float64(n)), c.NotCompliant, 1e-14)
	}
}

func TestChancesSumToOneAndRiseWithTheLimit(t *testing.T) {
	t.Parallel()
	var p Planner
	rapid.Check(t, func(t *rapid.T) {
		rule := rapid.SampledFrom(planned()).Draw(t, "rule")
		n := rapid.IntRange(1, 120).Draw(t, "n")
		gsd := math.Exp(rapid.Float64Range(0.05, 3).Draw(t, "sigma"))
		gm := math.Exp(rapid.Float64Range(-9, 3).Draw(t, "mu"))
		var last Chances
		for i, limit := range []float64{0.5, 0.8, 1, 1.3, 2} {
			a, err := Assume(gm, gsd, limit)
			require.NoError(t, err)
			c, err := p.Chances(rule, a, n)
			require.NoError(t, err)
			for _, v := range []float64{c.Compliant, c.NotCompliant, c.Undecided} {
				require.True(t, v >= 0 && v <= 1, "%+v", c)
			}
			require.InDelta(t, 1, c.Compliant+c.NotCompliant+c.Undecided, 1e-12)
			if i > 0 {
				require.GreaterOrEqual(t, c.Compliant, last.Compliant-1e-11)
				require.LessOrEqual(t, c.NotCompliant, last.NotCompliant+1e-11)
			}
			last = c
		}
	})
}

// More samples can only help a limit that is exact: below the boundary the chance of COMPLIANT rises with n.
func TestChanceRisesWithSamples(t *testing.T) {
	t.Parallel()
	var p Planner
	rapid.Check(t, func(t *rapid.T) {
		ratio := rapid.Float64Range(0.05, 0.95).Draw(t, "ratio")
		a, err := AssumeRatio(ratio, math.Exp(rapid.Float64Range(0.1, 2).Draw(t, "sigma")))
		require.NoError(t, err)
		last := 0.0
		for n := 2; n <= 60; n++ {
			c, err := p.Chances(decision.UpperLimit95, a, n)
			require.NoError(t, err)
			require.GreaterOrEqual(t, c.Compliant, last-1e-12)
			last = c.Compliant
		}
	})
}

// Extremes: no rule gives NaN, and a certain answer is certain.
func TestChancesOfExtremes(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, rule := range planned() {
		for _, n := range []int{1, 2, 3, 5, 6, 7, 40, 300, MaxSamples} {
			for _, gm := range []float64{1e-300, 1e-4, 1, 1e4, 1e300} {
				for _, gsd := range []float64{1 + 1e-9, 1.1, 3, 1e6, 1e300} {
					a, err := Assume(gm, gsd, 1)
					require.NoError(t, err)
					c := chancesOf(t, &p, rule, a, n)
					require.InDelta(t, 1, c.Compliant+c.NotCompliant+c.Undecided, 1e-9, "%v %d %v %v", rule, n, gm, gsd)
				}
			}
		}
		a, err := Assume(1e-4, 1.1, 1)
		require.NoError(t, err)
		require.InDelta(t, 1, chancesOf(t, &p, rule, a, 20).Compliant, 1e-12)
		a, err = Assume(1e4, 1.1, 1)
		require.NoError(t, err)
		require.InDelta(t, 1, chancesOf(t, &p, rule, a, 20).NotCompliant, 1e-12)
	}
}

func TestPlanningRefuses(t *testing.T) {
	t.Parallel()
	var p Planner
	a, err := Assume(0.2, 2, 1)
	require.NoError(t, err)
	for _, rule := range []decision.Rule{decision.SingleShift, decision.GroupAndSubject, 0} {
		require.False(t, Supported(rule))
		_, err = p.Chances(rule, a, 6)
		require.Equal(t, fault.Unsupported, fault.CodeOf(err))
	}
	for _, rule := range planned() {
		require.True(t, Supported(rule))
	}
	for _, n := range []int{0, -1, MaxSamples + 1} {
		_, err = p.Chances(decision.EN689, a, n)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, bad := range [][3]float64{{0, 2, 1}, {-1, 2, 1}, {nan, 2, 1}, {inf, 2, 1}, {1, 1, 1}, {1, nan, 1}, {1, inf, 1}, {1, 2, 0}, {1, 2, nan}} {
		_, err = Assume(bad[0], bad[1], bad[2])
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), "%v", bad)
	}
	_, err = AssumeRatio(0, 2)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
}
