package comparison

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// drawn makes a campaign of 5 to 15 readings, of which at least three have a value.
func drawn(t *rapid.T, name string) []reading.Reading {
	n := rapid.IntRange(5, 15).Draw(t, name)
	out := make([]reading.Reading, n)
	for i := range out {
		v := math.Exp(rapid.Float64Range(-2, 2).Draw(t, name))
		switch kind := rapid.IntRange(0, 6).Draw(t, name); {
		case i >= 3 && kind == 0:
			out[i] = reading.Under(v)
		case i >= 3 && kind == 1:
			out[i] = reading.Over(v)
		case i >= 3 && kind == 2:
			out[i] = reading.Within(v, 2*v)
		default:
			// Readings that huddle are no matter of comparison.
			out[i] = reading.At(v * float64(1+i))
		}
	}
	return out
}

func scaled(readings []reading.Reading, factor float64) []reading.Reading {
	out := make([]reading.Reading, len(readings))
	for i, r := range readings {
		r.Lower *= factor
		r.Upper *= factor
		out[i] = r
	}
	return out
}

// near says that two ratios are the same to a relative tolerance; both may be absent.
func near(t *rapid.T, want, got, tolerance float64, what string) {
	if math.IsNaN(want) && math.IsNaN(got) {
		return
	}
	require.LessOrEqual(t, math.Abs(math.Log(want)-math.Log(got)), tolerance*(1+math.Abs(math.Log(want))), "%s: %v, %v", what, want, got)
}

func inverse(t *rapid.T, a, b limit.Bounds, what string) {
	const tolerance = 3e-5
	near(t, 1/a.Estimate, b.Estimate, tolerance, what)
	near(t, 1/a.Lower, b.Upper, tolerance, what)
	near(t, 1/a.Upper, b.Lower, tolerance, what)
}

func TestProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawn(t, "a"), drawn(t, "b")
		q := 0.5
		o := Options{LogLimit: &q}
		compared := func(a, b []reading.Reading, o Options) Pair {
			r, err := Compare([]Campaign{campaign("a", a...), campaign("b", b...)}, o)
			require.NoError(t, err)
			return r.Pairs[0]
		}
		p, swapped := compared(a, b, o), compared(b, a, o)
		// Swapping the campaigns inverts every ratio.
		inverse(t, p.GeometricMean, swapped.GeometricMean, "geometric mean")
		inverse(t, p.LogSpread, swapped.LogSpread, "spread")
		inverse(t, p.Percentile, swapped.Percentile, "percentile")
		inverse(t, p.ArithmeticMean, swapped.ArithmeticMean, "arithmetic mean")
		require.InDelta(t, 1, p.Lower+swapped.Lower, 1e-5)
		require.InDelta(t, -p.Exceedance.Lower, swapped.Exceedance.Upper, 1e-5)
		if !math.IsNaN(p.Wilcoxon.PValue) {
			require.InDelta(t, p.Wilcoxon.PValue, swapped.Wilcoxon.PValue, 1e-9)
		}
		// Units change nothing.
		const factor = 250
		moved := q + math.Log(factor)
		u := compared(scaled(a, factor), scaled(b, factor), Options{LogLimit: &moved})
		near(t, p.Percentile.Upper, u.Percentile.Upper, 3e-5, "units")
		near(t, p.GeometricMean.Lower, u.GeometricMean.Lower, 1e-9, "units")
		near(t, p.ArithmeticMean.Lower, u.ArithmeticMean.Lower, 3e-5, "units")
		require.InDelta(t, p.Exceedance.Upper, u.Exceedance.Upper, 1e-5)
		// A campaign against itself: no change inside every interval.
		self := compared(a, a, o)
		for _, r := range []limit.Bounds{self.GeometricMean, self.LogSpread, self.Percentile, self.ArithmeticMean} {
			require.InDelta(t, 1, r.Estimate, 1e-9)
			require.False(t, r.Lower > 1 || r.Upper < 1)
		}
		require.InDelta(t, 0.5, self.Lower, 1e-6)
		require.Negative(t, self.Exceedance.Lower)
		require.Positive(t, self.Exceedance.Upper)
	})
}
