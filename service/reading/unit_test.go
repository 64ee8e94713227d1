package reading

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The sizes follow from the SI prefixes and 1 m3 = 1000 l = 1e6 cm3; ppm and ppb are parts per million and per thousand million.
func TestConvert(t *testing.T) {
	t.Parallel()
	cases := []struct {
		from, to Unit
		want     float64
	}{
		{"mg/m3", "mg/m3", 1},
		{"mg/m3", "ug/m3", 1e3},
		{"kg/m3", "ng/m3", 1e12},
		{"g/m3", "mg/m3", 1e3},
		{"mg/l", "mg/m3", 1e3},
		{"ug/l", "mg/m3", 1},
		{"ng/L", "µg/m³", 1},
		{"%", "ppm", 1e4},
		{"ppm", "ppb", 1e3},
		{"f/cm3", "f/l", 1e3},
		{"f/ml", "fibres/cm3", 1},
		{"f/cm3", "f/m3", 1e6},
		{"f/l", "f/m3", 1e3},
		{"MG/M3", " mg / m^3 ", 1},
		{"mcg/m**3", "μg/m3", 1},
		{"mg\u00a0/m3", "mg/m3", 1},
		{"widgets", "Widgets", 1},
		{"", "", 1},
		{"vol %", "ppm", 1e4},
		{"% vol", "ppmv", 1e4},
		{"ppbv", "ppb", 1},
		{"µmol/mol", "ppb", 1e3},
		{"nmol/mol", "ppb", 1},
		{"mg m-3", "µg/m3", 1e3},
		{"µg·m⁻³", "ng/m3", 1e3},
		{"mg per m3", "mg/m3", 1},
		{"percent", "%", 1},
		{"fibres per cm3", "f/ml", 1},
		{"f cm-3", "f/cm3", 1},
		{"f/cc", "f/cm³", 1},
		{"fibers/liter", "f/m3", 1e3},
		{"particles/cm3", "particles/L", 1e3},
		{"particles/L", "particles/m3", 1e3},
		{"particles/cm³", "p/m3", 1e6},
		{"#/cm3", "1/cm3", 1},
		{"1/cm3", "counts/cm3", 1},
		{"cm-3", "#/m3", 1e6},
		{"/cm3", "p/cc", 1},
		{"cm⁻³", "particle/ml", 1},
		{"# cm^-3", "count/ml", 1},
		{"L-1", "particles/m3", 1e3},
		{"ml-1", "p/cm3", 1},
		{"counts", "count", 1},
		{"1/min", "1/min", 1},
	}
	for _, c := range cases {
		got, err := Convert(1, c.from, c.to)
		require.NoError(t, err, "%s to %s", c.from, c.to)
		require.Equal(t, c.want, got, "%s to %s", c.from, c.to)
	}
	bad := []struct {
		from, to Unit
		want     string
	}{
		{"ppm", "mg/m3", `: "ppm" cannot be converted to "mg/m3" without the molar mass of the agent; accepted is "mg/m3" or another unit of ` +
			`mass per volume`},
		{"mg/m3", "ppb", `: "mg/m3" cannot be converted to "ppb" without the molar mass of the agent; accepted is "ppb" or another unit of ` +
			`volume per volume`},
		{"f/cm3", "1/cm3", `: "f/cm3" cannot be converted to "1/cm3"; accepted is "1/cm3" or another unit of particles per volume`},
		{"particles/L", "f/l", `: "particles/L" cannot be converted to "f/l"; accepted is "f/l" or another unit of fibers per volume`},
		{"#/cm3", "mg/m3", `: "#/cm3" cannot be converted to "mg/m3"; accepted is "mg/m3" or another unit of mass per volume`},
		{"counts", "1/cm3", `: "counts" cannot be converted to "1/cm3"; accepted is "1/cm3" or another unit of particles per volume`},
		{"mg/Nm3", "mg/m3", `: "mg/Nm3" cannot be converted to "mg/m3"; accepted is "mg/m3" or another unit of mass per volume`},
		{"mg/m3", "", `: "mg/m3" cannot be converted to no unit; accepted is no unit`},
		{"", "ppm", `: no unit cannot be converted to "ppm"; accepted is "ppm" or another unit of volume per volume`},
		{"widgets", "gadgets", `: "widgets" cannot be converted to "gadgets"; accepted is "gadgets"`},
	}
	for _, c := range bad {
		_, err := Convert(1, c.from, c.to)
		require.EqualError(t, err, c.want)
	}
}

// A concentration is the same number whichever way its unit is written: 35 µg/m3 times the factor 0.001 would be
// 0.035000000000000003 mg/m3.
func TestConvertRoundsOnce(t *testing.T) {
	t.Parallel()
	got, err := Convert(35, "µg/m3", "mg/m3")
	require.NoError(t, err)
	require.Equal(t, 0.035, got)
	rapid.Check(t, func(t *rapid.T) {
		v := float64(rapid.IntRange(1, 1e9).Draw(t, "v"))
		milli, err := Convert(v, "µg/m3", "mg/m3")
		require.NoError(t, err)
		want, err := number(fmt.Sprintf("%.0fe-3", v), '.')
		require.NoError(t, err)
		require.Equal(t, want, milli)
	})
}

func BenchmarkConvert(b *testing.B) {
	for b.Loop() {
		if _, err := Convert(35, "µg/m3", "mg/m3"); err != nil {
			b.Fatal(err)
		}
	}
}
