package reading

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
)

func TestReadingCheck(t *testing.T) {
	t.Parallel()
	const accepted = "; accepted is a finite number greater than 0"
	cases := []struct {
		name    string
		reading Reading
		want    string
	}{
		{"value", At(0.12), ""},
		{"below", Under(0.05), ""},
		{"above", Over(50), ""},
		{"between", Within(0.05, 0.12), ""},
		{"between from 0", Within(0, 0.12), ""},
		{"smallest", At(0x1p-1022), ""},
		{"largest", At(math.MaxFloat64), ""},
		{"zero", At(0), "value: is 0; a result that was not detected is stated as below its reporting limit"},
		{"negative", At(-1), "value: is -1" + accepted},
		{"NaN", At(math.NaN()), "value: is NaN" + accepted},
		{"infinite", At(math.Inf(1)), "value: is +Inf" + accepted},
		{"subnormal", At(0x1p-1023), "value: is 1.1125369292536007e-308" + accepted},
		{"below 0", Under(0), "below: is 0" + accepted},
		{"below infinity", Under(math.Inf(1)), "below: is +Inf" + accepted},
		{"above 0", Over(0), "above: is 0" + accepted},
		{"above NaN", Over(math.NaN()), "above: is NaN" + accepted},
		{"lower bound", Within(-1, 1), "between.lower: is -1" + accepted},
		{"upper bound", Within(0, math.Inf(1)), "between.upper: is +Inf" + accepted},
		{"bounds equal", Within(1, 1), "between.upper: is 1, not above the lower bound 1"},
		{"no kind", Reading{Kind: 9}, ": has no result; accepted are value, below, above and between"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			err := c.reading.Check()
			if c.want == "" {
				require.NoError(t, err)
				return
			}
			require.EqualError(t, err, c.want)
			require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
		})
	}
}

func TestReadingValue(t *testing.T) {
	t.Parallel()
	require.Equal(t, 0.12, At(0.12).Value())
	require.Equal(t, 0.05, Under(0.05).Value())
	require.Equal(t, 50.0, Over(50).Value())
	require.Equal(t, 1.5, Within(1, 2).Value())
	require.Equal(t, math.MaxFloat64*0.75, Within(math.MaxFloat64*0.5, math.MaxFloat64).Value(), "the middle of two large bounds does not overflow")
}

func TestKindWords(t *testing.T) {
	t.Parallel()
	words := map[Kind]string{Detected: "value", Below: "below", Above: "above", Between: "between", 9: "unknown"}
	for kind, word := range words {
		require.Equal(t, word, kind.String())
	}
}

func TestCount(t *testing.T) {
	t.Parallel()
	require.Equal(t, Counts{}, Count(nil))
	c := Count([]Reading{Under(0.001), At(3), Over(100), At(2), Within(0, 1), At(5), Under(9)})
	require.Equal(t, Counts{Readings: 7, Detected: 3, Below: 2, Above: 1, Between: 1, Minimum: 2, Maximum: 5}, c)
	require.Equal(t, 4, c.Censored())
}

func TestLimitWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, "0.5 mg/m3", Limit{0.5, "mg/m3"}.String())
	require.Equal(t, "2", Limit{2, ""}.String())
}

func TestParseResult(t *testing.T) {
	t.Parallel()
	cases := []struct {
		text string
		want Reading
	}{
		{"0.12", At(0.12)},
		{" .5 ", At(0.5)},
		{"1.2e-3", At(0.0012)},
		{"+7", At(7)},
		{"<0.05", Under(0.05)},
		{"< 0.05", Under(0.05)},
		{">50", Over(50)},
		{"> 50 ", Over(50)},
		{"0.05..0.12", Within(0.05, 0.12)},
		{"0 .. 0.12", Within(0, 0.12)},
		{"1..2.", Within(1, 2)},
	}
	for _, c := range cases {
		got, err := ParseResult(c.text)
		require.NoError(t, err, c.text)
		require.Equal(t, c.want, got, c.text)
	}
	bad := []struct{ text, want string }{
		{"", "is empty; accepted are"},
		{"ND", `"ND" is not a result; accepted are`},
		{"<LOD", `"<LOD" is not a result`},
		{"<", `"<" is not a result`},
		{"..", `".." is not a result`},
		{"0...5", `"0...5" is not a result`},
		{"1e", `"1e" is not a result`},
		{"0x1p-2", "is not a result"},
		{"Inf", "is not a result"},
		{"NaN", "is not a result"},
		{"1_000", "is not a result"},
		{"1 000", "is not a result"},
		{"<0,05", `"<0,05" has a comma; a number is written with a decimal point and without thousands separators`},
		{"1,000.5", "has a comma"},
		{"0,1..0,2", "has a comma"},
		{"1e400", `"1e400" is too large to be represented`},
		{"1e-400", `"1e-400": is 0; a result that was not detected`},
		{"<0", `"<0": the reporting limit is 0; accepted is a finite number greater than 0`},
		{">-1", `">-1": the top of the range is -1`},
		{"-1..2", `"-1..2": the lower bound is -1`},
		{"1..0.5", `"1..0.5": the upper bound is 0.5, not above the lower bound 1`},
	}
	for _, c := range bad {
		_, err := ParseResult(c.text)
		require.ErrorContains(t, err, c.want, c.text)
	}
}

func TestParseLimit(t *testing.T) {
	t.Parallel()
	cases := []struct {
		text string
		want Limit
	}{
		{"0.5mg/m3", Limit{0.5, "mg/m3"}},
		{" 0.5 mg/m³ ", Limit{0.5, "mg/m³"}},
		{"50", Limit{50, ""}},
		{"1e-3g/m3", Limit{0.001, "g/m3"}},
		{"5E+2 ug/m3", Limit{500, "ug/m3"}},
		{"0.5%", Limit{0.5, "%"}},
		{"2eq/l", Limit{2, "eq/l"}},
	}
	for _, c := range cases {
		got, err := ParseLimit(c.text)
		require.NoError(t, err, c.text)
		require.Equal(t, c.want, got, c.text)
	}
	bad := []struct{ text, want string }{
		{"", "is empty; accepted is a number with its unit, such as 0.5mg/m3"},
		{"mg/m3", `"mg/m3" is not a limit; accepted is`},
		{"0,5mg/m3", `"0,5mg/m3" has a comma`},
		{"0mg/m3", `"0mg/m3": the limit is 0; accepted is a finite number greater than 0`},
		{"-1ppm", "the limit is -1"},
		{"1-2ppm", "is not a limit"},
		{"<1ppm", "is not a limit"},
		{"1e999ppm", "is too large to be represented"},
	}
	for _, c := range bad {
		_, err := ParseLimit(c.text)
		require.ErrorContains(t, err, c.want, c.text)
	}
}

func TestFigures(t *testing.T) {
	t.Parallel()
	cases := []struct {
		v       float64
		figures int
		want    string
	}{
		{0.12345, 3, "0.123"},
		{1.2345, 3, "1.23"},
		{123.45, 3, "123"},
		{12345, 3, "12345"},
		{-0.5, 3, "-0.500"},
		{0, 3, "0.00"},
		{1000, 4, "1000"},
		{1000, 1, "1000"},
		{0.1, 1, "0.1"},
		// Rounding that reaches the next power of ten adds a digit before the point, not a figure.
		{9.996, 3, "10.0"},
		{0.9996, 3, "1.00"},
		{999.6, 3, "1000"},
		{0.00099996, 3, "0.00100"},
		{0.0001, 3, "0.000100"},
		{0.00009996, 3, "0.000100"},
		{0.0000999, 3, "9.99e-05"},
		{1e7, 3, "1.00e+07"},
		{9999999, 3, "1.00e+07"},
		{9994999, 3, "9994999"},
		{1.2e300, 2, "1.2e+300"},
		{5e-324, 3, "4.94e-324"},
		{math.NaN(), 3, "–"},
		{math.Inf(1), 3, "+Inf"},
	}
	for _, c := range cases {
		require.Equal(t, c.want, Figures(c.v, c.figures), "%v with %d figures", c.v, c.figures)
	}
}

func TestStated(t *testing.T) {
	t.Parallel()
	numbers := map[float64]string{2.4: "2.4", 60: "60", 0.09: "0.09", 1200: "1200", 0.1 * 60: "6", 5e-5: "5e-05", 1.5e8: "1.5e+08", 1.0 / 3: "0.333333", 0: "0", 12345678: "1.23457e+07"}
	for v, want := range numbers {
		require.Equal(t, want, Stated(v))
	}
	require.Equal(t, "–", Stated(math.NaN()))
}

func TestFigures_property(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(1e-4, 1e6).Draw(t, "v")
		figures := rapid.IntRange(1, 6).Draw(t, "figures")
		text := Figures(v, figures)
		got, err := number(text, '.')
		require.NoError(t, err)
		require.InEpsilon(t, v, got, 0.5001*math.Pow(10, float64(1-figures)))
		digits := strings.TrimLeft(strings.Replace(text, ".", "", 1), "0")
		require.GreaterOrEqual(t, len(digits), figures)
		if strings.Contains(text, ".") {
			require.Len(t, digits, figures)
		}
	})
}

func BenchmarkAppendFigures(b *testing.B) {
	b.ReportAllocs()
	var buffer [32]byte
	for b.Loop() {
		AppendFigures(buffer[:0], 0.0012345, 4)
	}
}
