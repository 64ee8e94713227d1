package comparison

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
)

func zoned(zone string, r reading.Reading) reading.Reading {
	r.Zone = zone
	return r
}

// With one reading a zone and campaign the change within zones is the paired t test. By hand for ln changes -1, -2, 0.5, -1.5: mean -1,
// standard deviation sqrt((0 + 1 + 2.25 + 0.25)/3), t(0.95; 3) = 2.353363 (handbook table).
func TestWithinZonesIsThePairedTest(t *testing.T) {
	t.Parallel()
	var a, b []reading.Reading
	for i, change := range []float64{-1, -2, 0.5, -1.5} {
		zone := string(rune('p' + i))
		level := 3 * float64(i)
		a = append(a, zoned(zone, reading.At(math.Exp(level))))
		b = append(b, zoned(zone, reading.At(math.Exp(level+change))))
	}
	a = append(a, zoned("only before", reading.At(7)))
	p := only(t, [2]Campaign{campaign("a", a...), campaign("b", b...)}, Options{})
	require.NotNil(t, p.Within)
	se := math.Sqrt(3.5 / 3 / 4)
	require.InDelta(t, -1, math.Log(p.Within.Ratio.Estimate), 1e-9)
	require.InDelta(t, -1-2.353363*se, math.Log(p.Within.Ratio.Lower), 1e-6)
	require.InDelta(t, -1/se, p.Within.Test.Statistic, 1e-9)
	require.InDelta(t, 3, p.Within.Test.Freedom[0], 1e-9)
	require.Len(t, p.Within.Zones, 4)
	require.True(t, p.Within.Zones[2].OtherWay)
	require.InDelta(t, 0.5, math.Log(p.Within.Zones[2].Ratio.Estimate), 1e-12)
	require.Contains(t, p.Conclusion, "Within the 4 zones that both visited")
	require.Contains(t, p.Conclusion, "the other way went r.")
}

func TestWithinZonesCensored(t *testing.T) {
	t.Parallel()
	a := []reading.Reading{
		zoned("x", reading.At(1)), zoned("x", reading.At(2)), zoned("y", reading.At(10)), zoned("y", reading.At(15)), zoned("y", reading.At(9)),
	}
	b := []reading.Reading{
		zoned("x", reading.At(0.5)), zoned("x", reading.Under(0.4)), zoned("y", reading.At(4)), zoned("y", reading.At(7)), zoned("y", reading.At(3)),
	}
	p := only(t, [2]Campaign{campaign("a", a...), campaign("b", b...)}, Options{})
	require.NotNil(t, p.Within)
	require.Less(t, p.Within.Ratio.Upper, 1.0)
	require.True(t, math.IsNaN(p.Within.Zones[0].Ratio.Estimate), "a reading of x has no value")
	require.False(t, p.Within.Zones[1].OtherWay)
}

func TestWithinZonesNeedsTwo(t *testing.T) {
	t.Parallel()
	a := []reading.Reading{zoned("x", reading.At(1)), zoned("x", reading.At(2)), reading.At(3)}
	p := only(t, [2]Campaign{campaign("a", a...), campaign("b", a...)}, Options{})
	require.Nil(t, p.Within)
}
