package reading_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
)

// The daily factors are the printed ones for 10 and 12 hours (several secondary sources of Brief and Scala's formula) and
// computed for 9 and 16; the weekly ones are computed from the formula as remembered.
func TestShiftFactors(t *testing.T) {
	t.Parallel()
	cases := []struct {
		day, week, want float64
		says            string
	}{
		{8, 0, 1, "= 1"},
		{9, 0, 0.83333333333333333, "(8/9) × (24 - 9)/16 = 0.833333"},
		{10, 0, 0.7, "for shifts of 10 h by (8/10) × (24 - 10)/16 = 0.7"},
		{12, 0, 0.5, "= 0.5"},
		{16, 0, 0.25, "= 0.25"},
		{0, 40, 1, "= 1"},
		{0, 48, 0.78125, "for weeks of 48 h by (40/48) × (168 - 48)/128 = 0.78125"},
		{0, 60, 0.5625, "= 0.5625"},
		{10, 48, 0.7, "of which the smaller holds"},
		{9, 60, 0.5625, "of which the smaller holds"},
		{0, 0, 1, ""},
	}
	for _, c := range cases {
		s := reading.Shifts{DayHours: c.day, WeekHours: c.week}
		require.NoError(t, s.Check())
		factor, why := s.Factor()
		require.InDelta(t, c.want, factor, 1e-15)
		require.Contains(t, why, c.says)
		require.Equal(t, c.says == "", why == "")
	}
}

func TestShiftsAreChecked(t *testing.T) {
	t.Parallel()
	for _, day := range []float64{7.9, 24, -10, math.NaN(), math.Inf(1)} {
		require.ErrorContains(t, reading.Shifts{DayHours: day}.Check(), "shiftHours: is ")
	}
	for _, week := range []float64{39, 168, math.NaN()} {
		require.ErrorContains(t, reading.Shifts{WeekHours: week}.Check(), "weekHours: is ")
	}
}
