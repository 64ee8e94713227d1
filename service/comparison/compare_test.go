package comparison

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

func detected(values ...float64) (out []reading.Reading) {
	for _, v := range values {
		out = append(out, reading.At(v))
	}
	return out
}

func codes(notes []Note) string {
	var out []string
	for _, n := range notes {
		out = append(out, n.Code)
	}
	return strings.Join(out, " ")
}

func TestCompareTakesTwo(t *testing.T) {
	t.Parallel()
	_, err := Compare([]Campaign{campaign("a", reading.At(1))}, Options{})
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
}

// Holm 1979 by hand: p = 0.04, 0.01, 0.03 become 0.06, 0.03, 0.06.
func TestHolm(t *testing.T) {
	t.Parallel()
	pairs := []Pair{{Means: Test{PValue: 0.04}}, {Means: Test{PValue: 0.01}}, {Means: Test{PValue: math.NaN()}}, {Means: Test{PValue: 0.03}}}
	pairs[2].PAdjusted = math.NaN()
	holm(pairs)
	require.InDelta(t, 0.06, pairs[0].PAdjusted, 1e-15)
	require.InDelta(t, 0.03, pairs[1].PAdjusted, 1e-15)
	require.True(t, math.IsNaN(pairs[2].PAdjusted))
	require.InDelta(t, 0.06, pairs[3].PAdjusted, 1e-15)
}

// Without censoring the trend is ordinary least squares: y = ln reading is 0, 1, 2, 1, 3, 5 at x = 0, 0, 1, 1, 2, 2, whose slope is
// 1.75, with residual squares 3.75 and so a standard error of sqrt(3.75/4/4), by hand.
func TestTrendIsLeastSquares(t *testing.T) {
	t.Parallel()
	e := math.Exp(1.0)
	p := func(x float64) float64 { return math.Pow(e, x) }
	r, err := Compare([]Campaign{
		campaign("a", detected(p(0), p(1))...), campaign("b", detected(p(2), p(1))...), campaign("c", detected(p(3), p(5))...),
	}, Options{})
	require.NoError(t, err)
	require.Len(t, r.Pairs, 3)
	require.Equal(t, "many-pairs", codes(r.Notes))
	require.False(t, r.Trend.PerYear)
	require.InDelta(t, 1.75, math.Log(r.Trend.Ratio.Estimate), 1e-9)
	require.InDelta(t, 4, r.Trend.Test.Freedom[0], 1e-9)
	require.InDelta(t, 1.75/math.Sqrt(3.75/16), r.Trend.Test.Statistic, 1e-9)
	// t(0.95; 4) = 2.131847, handbook table.
	require.InDelta(t, 1.75-2.131847*math.Sqrt(3.75/16), math.Log(r.Trend.Ratio.Lower), 1e-6)
}

// Three campaigns two years apart: the ratio is per year when every reading has a start, per campaign when one has none.
func TestTrendPerYear(t *testing.T) {
	t.Parallel()
	at := func(year int, readings []reading.Reading) []reading.Reading {
		for i := range readings {
			readings[i].Start = time.Date(year, 3, 1, 8, 0, 0, 0, time.UTC)
		}
		return readings
	}
	a, b, c := at(2020, detected(4, 5)), at(2022, detected(2, 2.6)), at(2024, []reading.Reading{reading.At(1), reading.Under(1.4)})
	r, err := Compare([]Campaign{campaign("a", a...), campaign("b", b...), campaign("c", c...)}, Options{})
	require.NoError(t, err)
	require.True(t, r.Trend.PerYear)
	require.Less(t, r.Trend.Ratio.Upper, 1.0)
	yearly := r.Trend.Ratio.Estimate
	b[0].Start = time.Time{}
	r, err = Compare([]Campaign{campaign("a", a...), campaign("b", b...), campaign("c", c...)}, Options{})
	require.NoError(t, err)
	require.False(t, r.Trend.PerYear)
	require.InDelta(t, math.Log(yearly)*2, math.Log(r.Trend.Ratio.Estimate), 0.01)
}

// The rank tests are absent where an order cannot be told.
func TestRankTestsAreAbsent(t *testing.T) {
	t.Parallel()
	a := detected(1, 2, 3)
	for _, r := range []reading.Reading{reading.Over(2), reading.Within(1, 2)} {
		wilcoxon, logRank := rankTests(a, append(detected(2, 3), r))
		require.True(t, math.IsNaN(wilcoxon.PValue) && math.IsNaN(logRank.PValue))
	}
	w, _ := rankTests(detected(1), detected(1))
	require.True(t, math.IsNaN(w.PValue), "all tied")
}

// The sentence says what may be concluded, and never that nothing changed.
func TestConclusions(t *testing.T) {
	t.Parallel()
	before := campaign("spring", detected(1, 2, 3, 1.5, 2.2, 1.1, 1.9, 2.8)...)
	for name, c := range map[string]struct {
		later []reading.Reading
		says  []string
	}{
		"fell":      {detected(0.1, 0.2, 0.3, 0.15, 0.22, 0.11, 0.19, 0.28), []string{"fell from spring to fall by at least", "best estimate is 90.0 % lower", "at least 50 %"}},
		"rose":      {detected(10, 20, 30, 15, 22, 11, 19, 28), []string{"rose from spring to fall by at least", "900 % higher"}},
		"unsettled": {detected(0.5, 2, 3, 0.9, 2, 1), []string{"do not settle", "not evidence that nothing changed"}},
		"tail":      {detected(0.02, 2.5, 0.3, 0.05, 0.22, 0.11, 0.3, 0.04), []string{"do not settle", "does not show that the upper tail came down"}},
		"nothing":   {[]reading.Reading{reading.Under(1)}, []string{"Nothing can be said of the change"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := only(t, [2]Campaign{before, campaign("fall", c.later...)}, Options{Reduction: 0.5})
			for _, words := range c.says {
				require.Contains(t, p.Conclusion, words)
			}
			require.NotContains(t, strings.ToLower(p.Conclusion), "no difference")
		})
	}
}

// A large sample settles a halving; where the percentiles are alike nothing does.
func TestFurther(t *testing.T) {
	t.Parallel()
	a := campaign("a", detected(1, 2, 3, 1.5, 2.2, 1.1, 1.9, 2.8, 0.8, 1.3, 2.4, 1.7)...)
	p := only(t, [2]Campaign{a, a}, Options{})
	require.Zero(t, p.Further)
	require.Contains(t, p.Conclusion, "Even 500 more readings")
	b := campaign("b", detected(0.3, 0.7, 1.2, 0.4, 0.6)...)
	p = only(t, [2]Campaign{a, b}, Options{})
	require.Positive(t, p.Further)
}

func TestWords(t *testing.T) {
	t.Parallel()
	for fraction, want := range map[float64]string{0.95: "95th", 0.91: "91st", 0.52: "52nd", 0.53: "53rd", 0.999: "99.9th"} {
		require.Equal(t, want, ordinal(fraction))
	}
	require.Equal(t, "more than 99.9 %", percent(0.99999))
	require.Equal(t, "less than 0.1 %", percent(1e-6))
	require.Equal(t, "no bound", times(math.NaN()))
}

// A campaign whose spread is unlike the other's is told when readings are censored.
func TestUnequalSpreadsAreTold(t *testing.T) {
	t.Parallel()
	a := campaign("a", detected(1, 1.01, 0.99, 1.02, 0.98, 1.03)...)
	b := campaign("b", append(detected(0.1, 5, 0.6, 30, 2), reading.Under(0.05))...)
	r, err := Compare([]Campaign{a, b}, Options{})
	require.NoError(t, err)
	require.Equal(t, "common-spread unequal-spreads", codes(r.Notes))
}
