package reading

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
)

func room(molarMass float64) Vapor {
	return Vapor{MolarMass: molarMass, Temperature: RoomTemperature, Pressure: RoomPressure}
}

// R T / p with the exact R: 24.46540 at 25 °C, 24.05512 at 20 °C, 22.41397 l/mol at 0 °C.
func TestMolarVolume(t *testing.T) {
	t.Parallel()
	for temperature, want := range map[float64]float64{25: 24.46540, 20: 24.05512, 0: 22.41397} {
		require.InDelta(t, want, Vapor{Temperature: temperature, Pressure: RoomPressure}.MolarVolume(), 5e-6)
	}
}

func TestVaporConvert(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value     float64
		from, to  Unit
		molarMass float64
		want      float64
		tolerance float64
		source    string
	}{
		// With 24.45 l/mol these are 8997.96 and 9.4038; the exact molar volume is 0.06 % more.
		{5000, "ppm", "mg/m3", 44, 8992.3, 0.05, "9000 as printed for carbon dioxide, to three figures"},
		{30, "mg/m3", "ppm", 78, 9.4, 0.05, "9.4 as printed for benzene"},
		{100, "ppm", "mg/m3", 17.03, 69.65, 0.05, "69.652 as printed for ammonia, by 0.0409 mol/l"},
		{50, "mg/m3", "ppm", 17.03, 71.785, 0.05, "71.785 as printed for ammonia"},
		{0.1, "mg/m3", "ppm", 30.026, 0.0814, 1e-4, "formaldehyde guideline, 0.08 ppm at 25 °C"},
		{100, "µg/m3", "ppb", 30.026, 81.4, 0.1, "the same in smaller units"},
		{1, "%", "mg/m3", 24.465403697038125, 1e4, 1e-9, "the molar volume as molar mass"},
		{35, "µg/m3", "mg/m3", 0, 0.035, 0, "no molar mass within one dimension"},
	} {
		got, err := room(c.molarMass).Convert(c.value, c.from, c.to)
		require.NoError(t, err)
		require.InDelta(t, c.want, got, c.tolerance, c.source)
	}
}

// The same examples by the 24.45 l/mol of printed tables.
func TestVaporConvertByThePrintedVolume(t *testing.T) {
	t.Parallel()
	printed := func(molarMass float64) Vapor {
		return Vapor{MolarMass: molarMass, Temperature: RoomTemperature, Pressure: GasConstant * 298.15 / 24.45}
	}
	for _, c := range []struct {
		value     float64
		from, to  Unit
		molarMass float64
		want      float64
	}{
		{5000, "ppm", "mg/m3", 44, 8997.955},
		{30, "mg/m3", "ppm", 78, 9.403846},
		{100, "ppm", "mg/m3", 17.03, 69.65235},
	} {
		got, err := printed(c.molarMass).Convert(c.value, c.from, c.to)
		require.NoError(t, err)
		require.InEpsilon(t, c.want, got, 1e-7)
	}
}

func TestVaporConvertRefuses(t *testing.T) {
	t.Parallel()
	_, err := room(0).Convert(1, "ppm", "mg/m3")
	require.ErrorContains(t, err, `molarMass: is missing; from "ppm" to "mg/m3" it is needed`)
	for _, to := range []Unit{"f/cm3", "", "counts"} {
		_, err = room(28).Convert(1, "ppm", to)
		require.ErrorContains(t, err, "cannot be converted")
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	for want, v := range map[string]Vapor{
		"molarMass: is -1":   room(-1),
		"temperature: is -2": {Temperature: -274, Pressure: 100},
		"pressure: is 0":     {Temperature: 25},
	} {
		require.ErrorContains(t, v.Check(), want)
	}
	require.NoError(t, room(28).Check())
}

func TestVaporConvertsThereAndBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := room(rapid.Float64Range(1, 500).Draw(t, "molar mass"))
		want := rapid.Float64Range(1e-6, 1e6).Draw(t, "value")
		there, err := v.Convert(want, "ppb", "µg/m3")
		require.NoError(t, err)
		back, err := v.Convert(there, "µg/m3", "ppb")
		require.NoError(t, err)
		require.InEpsilon(t, want, back, 1e-14)
	})
}
