package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestTicksAreFewAndInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := math.Exp(rapid.Float64Range(-700, 700).Draw(t, "a"))
		b := a * math.Exp(rapid.Float64Range(0, 700).Draw(t, "factor"))
		if math.IsInf(b, 1) {
			return
		}
		most := rapid.IntRange(5, 12).Draw(t, "most")
		for _, ticks := range [][]float64{LogTicks(a, b, most), LinearTicks(a, b, most)} {
			require.LessOrEqual(t, len(ticks), most+2)
			for i, k := range ticks {
				require.True(t, k >= a*(1-1e-6) && k <= b*(1+1e-6))
				require.True(t, i == 0 || k > ticks[i-1])
			}
		}
	})
}

func TestTimeTicks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-6e10, 2.4e11).Draw(t, "low")
		span := math.Exp(rapid.Float64Range(0, 26).Draw(t, "span"))
		ticks, _ := TimeTicks(low, low+span)
		require.LessOrEqual(t, len(ticks), 14)
		for _, k := range ticks {
			require.True(t, k.Value >= low && k.Value <= low+span)
		}
	})
}

func TestLabelsStandApart(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := (&Sheet{Width: UsualWidth, Height: UsualHeight}).Panel(Scale{}, Scale{})
		places := rapid.SliceOfN(rapid.Float64Range(p.Y.From, p.Y.To), 1, 6).Draw(t, "places")
		tags := make([]Tag, len(places))
		for i, y := range places {
			tags[i] = Tag{Y: y, Lines: []string{"a", "b"}}
		}
		sorted := byHeight(tags)
		for i, at := range p.spread(sorted) {
			require.GreaterOrEqual(t, at-sorted[i].height()/2, p.Floor-1e-9)
			if i > 0 {
				require.GreaterOrEqual(t, p.spread(sorted)[i-1]-at, 2*LineHeight-1e-9)
			}
		}
	})
}

func TestFittingCutsInTheMiddle(t *testing.T) {
	t.Parallel()
	words := "Grinding and polishing hall of the northern works, bay B"
	body := Letters(Ink)
	cut := body.Fitting(words, 120)
	require.LessOrEqual(t, body.Width(cut), 120.0)
	require.Regexp(t, "^Grinding.*….* B$", cut)
	require.Equal(t, "short", body.Fitting("short", 120))
}

// A scale that begins just under 0 is marked 0, not -0.
func TestZeroHasNoSign(t *testing.T) {
	t.Parallel()
	for _, v := range LinearTicks(-0.4, 60, 8) {
		require.False(t, math.Signbit(v))
	}
}
