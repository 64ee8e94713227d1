package numeric

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestToleranceFactorTable holds the factors, and the same rows read for the
// noncentrality, against 30-digit values (source in the header of the table).
func TestToleranceFactorTable(t *testing.T) {
	t.Parallel()
	var worst, worstDelta worstOf
	rows := referenceRows(t, "tolerance_factor.csv")
	for _, r := range rows {
		n, fraction, confidence, k := r[0], r[1], r[2], r[3]
		worst.see(relative(ToleranceFactor(int(n), fraction, confidence), k), r...)
		root := math.Sqrt(n)
		delta := NoncentralTDelta(n-1, k*root, confidence)
		worstDelta.see(relative(delta/root, NormalQuantile(fraction)), r...)
	}
	t.Logf("%d rows, worst relative error of k %.2g at (n, fraction, confidence, k) = %v; of the noncentrality %.2g at %v",
		len(rows), worst.value, worst.at, worstDelta.value, worstDelta.at)
	require.Len(t, rows, 357)
	require.LessOrEqual(t, worst.value, 2e-14) // The issue asks for 1e-12.
	require.LessOrEqual(t, worstDelta.value, 2e-13)
}

// TestToleranceFactorPublished checks printed factors. The tolerance is half a
// unit of the last printed digit, or what the note says.
func TestToleranceFactorPublished(t *testing.T) {
	t.Parallel()
	for _, r := range []struct {
		n                          int
		fraction, confidence, want float64
		tolerance                  float64
		source                     string
	}{
		{43, 0.90, 0.99, 1.8740, 5e-5, "NIST e-Handbook 7.2.6.3, exact value (from memory)"},
		{50, 0.95, 0.95, 2.065, 5e-4, "NRC ML14031A495 p. 47"},
		{8, 0.95, 0.95, 3.187293568, 5e-9, "EPA 2009 unified guidance, example 17-3, from its limit and moments"},
		{4, 0.95, 0.99, 9.083451, 5e-7, "EPA 2009 unified guidance, example 21-4, upper"},
		{4, 0.95, 0.01, 0.442864, 5e-7, "EPA 2009 unified guidance, example 21-4, lower"},
		// NBS Handbook 91 table A-7 (from memory); old tables err by one in the last
		// digit, hence a whole unit and a bit.
		{3, 0.95, 0.95, 7.655, 1.1e-3, "NBS Handbook 91"},
		{4, 0.95, 0.95, 5.145, 1.2e-3, "NBS Handbook 91"},
		{5, 0.95, 0.95, 4.202, 1.1e-3, "NBS Handbook 91"},
		{10, 0.95, 0.95, 2.911, 1.1e-3, "NBS Handbook 91"},
		{20, 0.95, 0.95, 2.396, 1.1e-3, "NBS Handbook 91"},
		{30, 0.95, 0.95, 2.220, 1.1e-3, "NBS Handbook 91"},
		{40, 0.95, 0.95, 2.126, 1.1e-3, "NBS Handbook 91"},
	} {
		require.InDelta(t, r.want, ToleranceFactor(r.n, r.fraction, r.confidence), r.tolerance, "%s, n %d", r.source, r.n)
	}
}

func TestToleranceFactorDomain(t *testing.T) {
	t.Parallel()
	for _, v := range []float64{
		ToleranceFactor(1, 0.95, 0.95), ToleranceFactor(10, 0, 0.95), ToleranceFactor(10, 1, 0.95),
		ToleranceFactor(10, 0.95, 0), ToleranceFactor(10, 0.95, 1), ToleranceFactor(10, math.NaN(), 0.5),
		ToleranceFactor(10, 0.5, math.NaN()), NoncentralTDelta(0.5, 1, 0.5), NoncentralTDelta(5, math.Inf(1), 0.5),
		NoncentralTDelta(5, math.NaN(), 0.5), NoncentralTDelta(5, 2e9, 0.5), NoncentralTDelta(5, 1, 0), NoncentralTDelta(5, 1, 1),
		NoncentralTDelta(5, 1, math.NaN()), NoncentralT{Nu: 5}.Quantile(-0.1), NoncentralT{Nu: 5}.Quantile(math.NaN()),
	} {
		require.True(t, math.IsNaN(v))
	}
	inf := math.Inf(1)
	d := NoncentralT{Nu: 5, Delta: 1}
	require.Equal(t, []float64{-inf, inf, inf, -inf},
		[]float64{d.Quantile(0), d.Quantile(1), d.QuantileUpper(0), d.QuantileUpper(1)})
	// The median factor of the median is zero by symmetry.
	require.InDelta(t, 0, ToleranceFactor(7, 0.5, 0.5), 1e-14)
}

// TestQuantileRoundTrip goes from a normal score to t and back, and from t to the
// noncentrality, over the whole domain and tails down to 1e-100. Errors are in
// normal scores, relative to what one rounding of t is worth.
func TestQuantileRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawNoncentralT(t)
		z := rapid.Float64Range(-21, 21).Draw(t, "z")
		x := d.quantileOfScore(z)
		require.False(t, math.IsNaN(x))
		m, upper := noncentralMoments(d.Nu, x, d.Delta)
		at := m.againstT(upper)
		rounding := math.Max(1, math.Abs(x*at.d1))
		require.InDelta(t, z, at.z, 5e-12*rounding, "%v t %g", d, x)
		if math.Abs(x) > 1e9 {
			return // Outside the domain of the noncentrality.
		}
		delta := deltaOfScore(d.Nu, x, z)
		slope := math.Abs(m.againstDelta(upper).d1)
		require.InDelta(t, d.Delta*slope, delta*slope, 5e-12*rounding, "%v t %g", d, x)
	})
}

func TestQuantileOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := drawNoncentralT(t)
		p := rapid.Float64Range(1e-6, 0.999).Draw(t, "p")
		q := d.Quantile(p)
		require.Less(t, q, d.Quantile(p+0.0005))
		require.InEpsilon(t, 1+p, 1+d.CDF(q), 1e-12)
		require.InEpsilon(t, d.Quantile(1-p)+2*math.Abs(d.Delta)+9, d.QuantileUpper(1-(1-p))+2*math.Abs(d.Delta)+9, 1e-12)
	})
}

func BenchmarkToleranceFactor(b *testing.B) {
	for _, n := range []int{3, 6, 20, 100} {
		b.Run(fmt.Sprint("n", n), func(b *testing.B) {
			for b.Loop() {
				sink = ToleranceFactor(n, 0.95, 0.95)
			}
		})
	}
}

func BenchmarkNoncentralTDelta(b *testing.B) {
	for b.Loop() {
		sink = NoncentralTDelta(19, 9.5, 0.95)
	}
}
