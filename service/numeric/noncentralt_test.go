package numeric

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// smallerTail returns the smaller tail of a row (nu, delta, t, cdf, survival) and
// what this package says of it.
func smallerTail(r []float64) (got, want float64) {
	d := NoncentralT{Nu: r[0], Delta: r[1]}
	if r[4] < r[3] {
		return d.Survival(r[2]), r[4]
	}
	return d.CDF(r[2]), r[3]
}

// TestNoncentralTTable holds the distribution against 40-digit values: composite
// Gauss-Legendre in 55-digit arithmetic, confirmed by the beta series (source in
// the header of the table).
func TestNoncentralTTable(t *testing.T) {
	t.Parallel()
	const tolerance = 1e-13 // The issue asks for 1e-12.
	var worst worstOf
	rows := referenceRows(t, "noncentral_t_cdf.csv")
	for _, r := range rows {
		got, want := smallerTail(r)
		worst.see(relative(got, want), r...)
		d := NoncentralT{Nu: r[0], Delta: r[1]}
		require.InDelta(t, r[3], d.CDF(r[2]), 1e-14, "%v", r)
		require.InDelta(t, r[4], d.Survival(r[2]), 1e-14, "%v", r)
	}
	t.Logf("%d rows, worst relative error of the smaller tail %.2g at (nu, delta, t, cdf, survival) = %v",
		len(rows), worst.value, worst.at)
	require.Len(t, rows, 1958)
	require.LessOrEqual(t, worst.value, tolerance)
}

// TestNoncentralTAgainstGonum compares with gonum where gonum is right, that is
// below a noncentrality of 37 and away from the far tails: a second source.
func TestNoncentralTAgainstGonum(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{1, 2.5, 9, 19.5, 99} {
		for _, delta := range []float64{-5, 0.3, 7.36, 16.45, 30} {
			g := distuv.NoncentralT{Nu: nu, Mu: delta}
			d := NoncentralT{Nu: nu, Delta: delta}
			for _, f := range []float64{0.8, 1, 1.3} {
				x := f * (delta + 0.1)
				require.InDelta(t, g.CDF(x), d.CDF(x), 5e-12, "nu %g delta %g t %g", nu, delta, x)
			}
		}
	}
}

// TestNoncentralTBeyondGonum pins the place where the general library leaves the
// interval [0, 1]: it gives 1.0856 here; the value is a 200,000-step quadrature.
func TestNoncentralTBeyondGonum(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 0.9667, NoncentralT{Nu: 191, Delta: 38.55}.CDF(43), 5e-5)
}

// TestNoncentralTLimit checks very large noncentralities against their limit
// P(T <= t) -> P(S >= delta/t), whose own error is of the order (nu/delta)².
func TestNoncentralTLimit(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{1, 2.5, 19, 99, 1000} {
		for _, f := range []float64{0.5, 0.9, 1, 1.1, 3} {
			d := NoncentralT{Nu: nu, Delta: 1e9}
			want := ChiSquareSurvival(nu, nu/(f*f))
			if want < 1e-100 || want > 0.5 {
				continue
			}
			require.InEpsilon(t, want, d.CDF(f*d.Delta), 2e-12, "nu %g f %g", nu, f)
		}
	}
}

func TestNoncentralTDomain(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	for _, d := range []NoncentralT{{Nu: 0.99}, {Nu: nan}, {Nu: 2e9}, {Nu: 5, Delta: nan}, {Nu: 5, Delta: inf}, {Nu: 5, Delta: 2e10}} {
		require.True(t, math.IsNaN(d.CDF(1)), "%v", d)
		require.True(t, math.IsNaN(d.Survival(1)), "%v", d)
		require.True(t, math.IsNaN(d.Quantile(0.5)), "%v", d)
		require.True(t, math.IsNaN(d.QuantileUpper(0.5)), "%v", d)
	}
	d := NoncentralT{Nu: 5, Delta: 2}
	require.True(t, math.IsNaN(d.CDF(nan)))
	require.True(t, math.IsNaN(d.Survival(nan)))
	require.Equal(t, []float64{0, 1, 1, 0}, []float64{d.CDF(-inf), d.CDF(inf), d.Survival(-inf), d.Survival(inf)})
}

func drawNoncentralT(t *rapid.T) NoncentralT {
	return NoncentralT{
		Nu:    math.Exp(rapid.Float64Range(0, math.Log(1e6)).Draw(t, "ln nu")),
		Delta: 10 * math.Sinh(rapid.Float64Range(-6, 6).Draw(t, "asinh delta/10")),
	}
}

func drawT(t *rapid.T, d NoncentralT) float64 {
	z := rapid.Float64Range(-8, 8).Draw(t, "z")
	m, v, _ := chiMoments(d.Nu)
	return (d.Delta + z*math.Sqrt(1+d.Delta*d.Delta*v)) / m
}

func TestNoncentralTProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawNoncentralT(t)
		x := drawT(t, d)
		cdf, sf := d.CDF(x), d.Survival(x)
		require.GreaterOrEqual(t, cdf, 0.0)
		require.LessOrEqual(t, cdf, 1.0)
		require.InDelta(t, 1, cdf+sf, 4e-16)
		mirror := NoncentralT{Nu: d.Nu, Delta: -d.Delta}
		require.InDelta(t, sf, mirror.CDF(-x), 0, "P(T > t) is P(T <= -t) of the mirrored one")
		step := math.Max(1e-3, 1e-3*math.Abs(x))
		require.GreaterOrEqual(t, d.CDF(x+step), cdf*(1-1e-13), "rising in t")
		require.LessOrEqual(t, NoncentralT{Nu: d.Nu, Delta: d.Delta + step}.CDF(x), cdf*(1+1e-13)+1e-300, "falling in delta")
	})
}

// TestNoncentralTSeams looks at both sides of every place where the computation
// takes another path: t at delta (which tail is integrated), t at zero, and the
// packing of nodes around a sharp step.
func TestNoncentralTSeams(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{1, 1.5, 4, 15.999, 16, 19, 999, 1e6} {
		for _, delta := range []float64{-40, -3, 0, 0.7, 8, 39, 2000} {
			d := NoncentralT{Nu: nu, Delta: delta}
			for _, x := range []float64{delta, 0} {
				at := d.CDF(x)
				for _, side := range []float64{math.Inf(-1), math.Inf(1)} {
					beside := d.CDF(math.Nextafter(x, side))
					require.InDelta(t, at, beside, 1e-13*math.Min(at, 1-at)+1e-14, "nu %g delta %g t %g", nu, delta, x)
				}
			}
		}
	}
}

func TestTailEdgeSeam(t *testing.T) {
	t.Parallel()
	for _, nu := range []float64{1, 1.7, 5, 19, 400} {
		for _, ratio := range []float64{0.5, 0.9, 0.99} {
			packed := func(delta float64) (bool, float64) {
				q := tailIntegral{nu: nu, t: ratio * delta, delta: delta, excess: ratio*delta - delta}
				q.place()
				return q.edge > 0, q.integrate().p
			}
			lo, hi := 0.1, 1e5
			for hi-lo > 1e-13*hi {
				mid := 0.5 * (lo + hi)
				if on, _ := packed(mid); on {
					hi = mid
				} else {
					lo = mid
				}
			}
			off, below := packed(lo)
			on, above := packed(hi)
			require.False(t, off)
			require.True(t, on)
			require.InEpsilon(t, below, above, 2e-13, "nu %g ratio %g delta %g", nu, ratio, lo)
		}
	}
}

func BenchmarkNoncentralT(b *testing.B) {
	for _, c := range []struct {
		name         string
		nu, delta, t float64
	}{
		{"nu19/central", 19, 7.356, 9.5},
		{"nu19/lower", 19, 7.356, 1.5},
		{"nu19/farTail", 19, 7.356, 40},
		{"nu99/central", 99, 16.45, 18.5},
		{"nu99/farTail", 99, 16.45, 35},
		{"nu1/central", 1, 2.3, 10.5},
		{"nu1/sharpStep", 1, 2000, 2100},
	} {
		b.Run(c.name, func(b *testing.B) {
			d := NoncentralT{Nu: c.nu, Delta: c.delta}
			for b.Loop() {
				sink = d.CDF(c.t)
			}
		})
	}
	b.Run("gonum/nu19/central", func(b *testing.B) {
		d := distuv.NoncentralT{Nu: 19, Mu: 7.356}
		for b.Loop() {
			sink = d.CDF(9.5)
		}
	})
	b.Run("gonum/nu99/central", func(b *testing.B) {
		d := distuv.NoncentralT{Nu: 99, Mu: 16.45}
		for b.Loop() {
			sink = d.CDF(18.5)
		}
	})
	b.Run("gonum/nu19/quantile", func(b *testing.B) {
		d := distuv.NoncentralT{Nu: 19, Mu: 7.356}
		for b.Loop() {
			sink = d.Quantile(0.95)
		}
	})
	b.Run("nu19/quantile", func(b *testing.B) {
		d := NoncentralT{Nu: 19, Delta: 7.356}
		for b.Loop() {
			sink = d.Quantile(0.95)
		}
	})
}
