package numeric

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

var ruleNus = []float64{1, 1.5, 2, 3, 5, 9, 19, 49, 99, 499, 9999, 999999}

// TestChiRuleMoments: E S² = 1, E S⁴ = 1 + 2/nu, and the mean from gamma
// functions, E S = sqrt(2/nu) Gamma((nu+1)/2)/Gamma(nu/2).
func TestChiRuleMoments(t *testing.T) {
	t.Parallel()
	for _, nu := range ruleNus {
		r := NewChiRule(nu)
		require.InDelta(t, nu, r.Nu(), 0)
		require.Less(t, r.Len(), ruleNodes, "nu %g: the rule was cut off", nu)
		total := 0.0
		for i := range r.Len() {
			_, w := r.Node(i)
			total += w
		}
		require.InDelta(t, 1, total, 1e-14)
		require.InDelta(t, 1, r.Expect(func(float64) float64 { return 1 }), 1e-14)
		require.InEpsilon(t, 1, r.Expect(func(s float64) float64 { return s * s }), 1e-13, "nu %g", nu)
		require.InEpsilon(t, 1+2/nu, r.Expect(func(s float64) float64 { return s * s * s * s }), 1e-13, "nu %g", nu)
		if nu < 500 {
			a, _ := math.Lgamma(0.5 * (nu + 1))
			b, _ := math.Lgamma(0.5 * nu)
			mean := math.Sqrt(2/nu) * math.Exp(a-b)
			require.InEpsilon(t, mean, r.Expect(func(s float64) float64 { return s }), 1e-13, "nu %g", nu)
		}
	}
}

// TestChiRuleAgainstTailIntegral holds the rule to its promise within its reach,
// and both solves on both sides of it.
func TestChiRuleAgainstTailIntegral(t *testing.T) {
	t.Parallel()
	var worst, worstT, worstDelta worstOf
	nodes := map[float64]int{}
	for _, nu := range ruleNus {
		r := NewChiRule(nu)
		nodes[nu] = r.Len()
		m, v, _ := chiMoments(nu)
		for f := -1.2; f <= 1.2; f += 0.1 {
			for z := -4.0; z <= 4; z += 0.5 {
				x := f * r.Reach()
				d := NoncentralT{Nu: nu, Delta: x*m - z*math.Sqrt(1+x*x*v)}
				p := d.CDF(x)
				if math.Abs(d.Delta) <= r.Reach() && math.Abs(x) <= r.Reach() {
					got := r.Expect(func(s float64) float64 { return NormalCDF(x*s - d.Delta) })
					worst.see(math.Abs(got-p), nu, x, d.Delta, p)
				}
				if p < 1e-6 || p > 1-1e-6 {
					continue
				}
				worstT.see(math.Abs(r.Quantile(d.Delta, p)-d.Quantile(p))/(1+math.Abs(x)), nu, x, d.Delta, p)
				worstDelta.see(math.Abs(r.Delta(x, p)-NoncentralTDelta(nu, x, p))/(1+math.Abs(x)), nu, x, d.Delta, p)
			}
		}
	}
	t.Logf("nodes %v", nodes)
	t.Logf("worst error of the expectation %.2g at (nu, t, delta, p) = %v, of t %.2g at %v, of delta %.2g at %v",
		worst.value, worst.at, worstT.value, worstT.at, worstDelta.value, worstDelta.at)
	require.LessOrEqual(t, worst.value, 5e-14)
	require.LessOrEqual(t, worstT.value, 1e-12)
	require.LessOrEqual(t, worstDelta.value, 1e-12)
}

// TestChiRuleToleranceFactors reads the reference table through the rule.
func TestChiRuleToleranceFactors(t *testing.T) {
	t.Parallel()
	var worst worstOf
	for _, row := range referenceRows(t, "tolerance_factor.csv") {
		r := NewChiRule(row[0] - 1)
		root := math.Sqrt(row[0])
		worst.see(relative(r.Quantile(NormalQuantile(row[1])*root, row[2])/root, row[3]), row...)
	}
	t.Logf("worst relative error of k %.2g at %v", worst.value, worst.at)
	require.LessOrEqual(t, worst.value, 1e-12)
}

func TestChiRuleDomain(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{0.5, math.NaN(), math.Inf(1), 2e9} {
		r := NewChiRule(nu)
		require.Zero(t, r.Len())
		require.True(t, math.IsNaN(r.Nu()))
		require.True(t, math.IsNaN(r.Quantile(1, 0.9)))
		require.True(t, math.IsNaN(r.Delta(1, 0.9)))
		require.True(t, math.IsNaN(r.Expect(func(float64) float64 { return 1 })))
	}
	r := NewChiRule(5)
	require.True(t, math.IsNaN(r.Quantile(math.NaN(), 0.9)))
	require.True(t, math.IsNaN(r.Quantile(1, math.NaN())))
	require.True(t, math.IsNaN(r.Delta(math.NaN(), 0.9)))
	require.True(t, math.IsNaN(r.Delta(1, math.NaN())))
}

func TestChiRuleAllocatesNothing(t *testing.T) {
	require.Zero(t, testing.AllocsPerRun(100, func() {
		r := NewChiRule(19)
		sink = r.Quantile(7.36, 0.95) + r.Delta(9, 0.95)
	}))
	require.Zero(t, testing.AllocsPerRun(100, func() {
		sink = ToleranceFactor(20, 0.95, 0.95) + NoncentralT{Nu: 19, Delta: 7}.CDF(9)
	}))
}

func BenchmarkChiRule(b *testing.B) {
	for _, nu := range []float64{2, 5, 19, 99} {
		r := NewChiRule(nu)
		root := math.Sqrt(nu + 1)
		b.Run(fmt.Sprint("build/nu", nu), func(b *testing.B) {
			for b.Loop() {
				built := NewChiRule(nu)
				sink = built.reach
			}
		})
		b.Run(fmt.Sprint("quantile/nu", nu), func(b *testing.B) {
			for b.Loop() {
				sink = r.Quantile(1.645*root, 0.95)
			}
		})
		b.Run(fmt.Sprint("delta/nu", nu), func(b *testing.B) {
			for b.Loop() {
				sink = r.Delta(2*root, 0.95)
			}
		})
	}
}

// Both sides of every seam of Tails: the reach of the rule, and the tail below which it is not trusted.
func TestChiRuleTailsMeetTheAdaptiveIntegral(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for _, nu := range []float64{1, 2, 5, 19, 99, 999} {
		r := NewChiRule(nu)
		for _, delta := range []float64{-3, 0, 2.5, 7, 0.999 * r.Reach(), 1.001 * r.Reach()} {
			d := NoncentralT{Nu: nu, Delta: delta}
			for _, p := range []float64{1e-6, 0.9e-3, 1.1e-3, 0.05, 0.5, 0.95, 0.9989, 0.9991} {
				x := d.Quantile(p)
				lower, upper := r.Tails(x, delta)
				require.InDelta(t, 1, lower+upper, 1e-15)
				if p < 0.5 {
					worst = max(worst, relative(lower, d.CDF(x)))
				} else {
					worst = max(worst, relative(upper, d.Survival(x)))
				}
			}
		}
	}
	t.Logf("worst relative difference of the smaller tail: %.2g", worst)
	require.LessOrEqual(t, worst, 1e-10)
}
