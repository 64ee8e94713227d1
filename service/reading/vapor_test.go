package reading

import (
	"strings"
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

// The general formula of the Canadian Centre for Occupational Health and Safety (ccohs.org, oshanswers/chemicals/convert.html):
// mg/m3 = P M ppm / (62.4 (273.2 + t)), P in mmHg. Its constants are rounded, from 62.3636 l mmHg/(mol K) and 273.15, by 0.06 %.
func TestVaporConvertByTheGeneralFormula(t *testing.T) {
	t.Parallel()
	const mmHg = 101.325 / 760
	for _, c := range []struct{ pressure, temperature, molarMass float64 }{{760, 25, 44}, {700, 10, 17.03}, {640, 38, 78}} {
		got, err := Vapor{MolarMass: c.molarMass, Temperature: c.temperature, Pressure: c.pressure * mmHg}.Convert(100, "ppm", "mg/m3")
		require.NoError(t, err)
		require.InEpsilon(t, c.pressure*c.molarMass*100/(62.4*(273.2+c.temperature)), got, 1e-3)
		require.InEpsilon(t, c.pressure*c.molarMass*100/(62.3636*(273.15+c.temperature)), got, 1e-6)
	}
}

// The rule of 29 CFR 1910.1000 tables: at 25 °C and 760 mmHg a mole is 24.45 l, of which the exact one is 0.06 % more.
func TestPrintedMolarVolume(t *testing.T) {
	t.Parallel()
	require.InEpsilon(t, 24.45, room(0).MolarVolume(), 6.5e-4)
	require.InDelta(t, 8.31446261815324*298.15/101.325, room(0).MolarVolume(), 1e-13)
}

// Readings and limits of one agent may come in either unit when its molar mass is known; whatever comes first is the group's unit.
func TestGroupingWithVapors(t *testing.T) {
	t.Parallel()
	g := NewGrouping(DefaultKeys)
	g.Vapors(func(agent string) Vapor {
		if agent == "gas" {
			return room(28.01)
		}
		return Vapor{}
	})
	require.NoError(t, g.ReadCSV("a.csv", strings.NewReader("zone,agent,result,unit,limit\nk,gas,10,mg/m3,35ppm\nk,gas,<2,ppm,\nk,gas,1..3,ppb,35ppm\n")))
	groups, err := g.Groups()
	require.NoError(t, err)
	perPpm := 28.01 / room(0).MolarVolume()
	require.Equal(t, Unit("mg/m3"), groups[0].Unit)
	require.InEpsilon(t, 35*perPpm, groups[0].Limit.Value, 1e-14)
	require.Equal(t, Unit("mg/m3"), groups[0].Limit.Unit)
	require.Equal(t, Below, groups[0].Readings[1].Kind)
	require.InEpsilon(t, 2*perPpm, groups[0].Readings[1].Upper, 1e-14)
	require.InEpsilon(t, 0.001*perPpm, groups[0].Readings[2].Lower, 1e-14)

	require.NoError(t, g.ReadCSV("b.csv", strings.NewReader("zone,agent,result,unit,limit\nk,soot,10,mg/m3,35ppm\nk,gas,1,f/cm3,\n")))
	_, err = g.Groups()
	require.Equal(t, []string{
		`b.csv line 2, column limit: "ppm" cannot be converted to "mg/m3" without the molar mass of the agent; accepted is "mg/m3" or ` +
			`another unit of mass per volume (the unit of b.csv line 2)`,
		`b.csv line 3, column unit: "f/cm3" cannot be converted to "mg/m3"; accepted is "mg/m3" or another unit of mass per volume (the ` +
			`unit of a.csv line 2)`,
	}, texts(t, err))
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
