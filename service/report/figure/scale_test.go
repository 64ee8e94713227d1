package figure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func labels(ticks []tick) []string {
	out := make([]string, len(ticks))
	for i, t := range ticks {
		out[i] = t.label
	}
	return out
}

func TestLogTicks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		low, high float64
		most      int
		want      []string
	}{
		{0.04, 2.5, 12, []string{"0.05", "0.1", "0.2", "0.5", "1", "2"}},
		{8e-11, 4e-10, 12, []string{"1e-10", "2e-10", "3e-10", "4e-10"}},
		{0.9, 2e6, 8, []string{"1", "10", "100", "1000", "10000", "100000", "1000000"}},
		{1e-9, 1e9, 8, []string{"1e-9", "1e-6", "0.001", "1", "1000", "1000000", "1e9"}},
		{20.8, 23.6, 12, []string{"21", "22", "23"}},
	} {
		require.Equal(t, c.want, labels(logTicks(c.low, c.high, c.most)))
	}
}

func TestTicksAreFewAndInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := math.Exp(rapid.Float64Range(-700, 700).Draw(t, "a"))
		b := a * math.Exp(rapid.Float64Range(0, 700).Draw(t, "factor"))
		if math.IsInf(b, 1) {
			return
		}
		most := rapid.IntRange(5, 12).Draw(t, "most")
		for _, ticks := range [][]tick{logTicks(a, b, most), linearTicks(a, b, most)} {
			require.LessOrEqual(t, len(ticks), most+2)
			for i, k := range ticks {
				require.True(t, k.value >= a*(1-1e-6) && k.value <= b*(1+1e-6))
				require.True(t, i == 0 || k.value > ticks[i-1].value)
			}
		}
	})
}

func TestTimeTicks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-6e10, 2.4e11).Draw(t, "low")
		span := math.Exp(rapid.Float64Range(0, 26).Draw(t, "span"))
		ticks, _ := timeTicks(low, low+span)
		require.LessOrEqual(t, len(ticks), 14)
		for _, k := range ticks {
			require.True(t, k.value >= low && k.value <= low+span)
		}
	})
}

func TestLabelsStandApart(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := (&sheet{width: sheetWidth, height: sheetHeight}).panel(scale{}, scale{})
		places := rapid.SliceOfN(rapid.Float64Range(p.y.from, p.y.to), 1, 6).Draw(t, "places")
		tags := make([]tag, len(places))
		for i, y := range places {
			tags[i] = tag{y: y, lines: []string{"a", "b"}}
		}
		sorted := byHeight(tags)
		for i, at := range p.spread(sorted) {
			require.GreaterOrEqual(t, at-sorted[i].height()/2, p.floor-1e-9)
			if i > 0 {
				require.GreaterOrEqual(t, p.spread(sorted)[i-1]-at, 2*lineHeight-1e-9)
			}
		}
	})
}

func TestFittingCutsInTheMiddle(t *testing.T) {
	t.Parallel()
	words := "Grinding and polishing hall of the northern works, bay B"
	cut := bodyType.fitting(words, 120)
	require.LessOrEqual(t, bodyType.width(cut), 120.0)
	require.Regexp(t, "^Grinding.*….* B$", cut)
	require.Equal(t, "short", bodyType.fitting("short", 120))
}

// The places of the percentages, against upper percentage points of the standard normal distribution: NIST/SEMATECH e-Handbook of
// Statistical Methods, 1.3.6.7.1 (1.645 and 2.326 for 5 and 1 %; 0.994 for 16 % from memory).
func TestPercentTicks(t *testing.T) {
	t.Parallel()
	ticks := percentTicks(-2.5, 2.5)
	require.Equal(t, []string{"1", "5", "16", "50", "84", "95", "99"}, labels(ticks))
	for i, want := range []float64{-2.326, -1.645, -0.994, 0, 0.994, 1.645, 2.326} {
		require.InDelta(t, want, ticks[i].value, 5e-4)
	}
}

// A scale that begins just under 0 is marked 0, not -0.
func TestZeroHasNoSign(t *testing.T) {
	t.Parallel()
	for _, mark := range linearTicks(-0.4, 60, 8) {
		require.NotContains(t, mark.label, "-")
	}
}
