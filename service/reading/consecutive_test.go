package reading_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
)

func combined(t *testing.T, within time.Duration, rows ...string) ([]*reading.TabledGroup, error) {
	t.Helper()
	g := reading.NewGrouping(reading.DefaultKeys)
	g.CombineWithin = within
	table := "zone,agent,result,unit,subject,start,minutes\n" + strings.Join(rows, "\n") + "\n"
	require.NoError(t, g.ReadCSV("shifts.csv", strings.NewReader(table)))
	return g.Groups()
}

// The example of 29 CFR 1910.1000(d)(1): 2 h at 150 ppm, 2 h at 75 and 4 h at 50 are 81.25 ppm over 8 h.
func TestConsecutiveSamplesAreOneShift(t *testing.T) {
	t.Parallel()
	groups, err := combined(t, 10*time.Hour,
		"bay,a,50,ppm,P1,2026-03-09T10:00,240", // The rows may stand in any order.
		"bay,a,150,ppm,P1,2026-03-09T06:00,120", "bay,a,75,ppm,P1,2026-03-09T08:00,120",
		"bay,a,20,ppm,P2,2026-03-09T06:00,480", "bay,a,30,ppm,P1,2026-03-10T06:00,480", "bay,a,40,ppm,P1,,")
	require.NoError(t, err)
	g := groups[0]
	require.Equal(t, []string{"6 samples were taken together as 4 averages of shifts, weighted by time, for they follow one another within 10 h."}, g.Remarks)
	require.Len(t, g.Readings, 4)
	require.Len(t, g.Places, 4)
	shift := g.Readings[1]
	require.Equal(t, reading.Detected, shift.Kind)
	require.InDelta(t, 81.25, shift.Lower, 1e-12)
	require.Equal(t, shift.Lower, shift.Upper)
	require.Equal(t, 8*time.Hour, shift.Duration)
	require.Equal(t, 6, shift.Start.Hour())
	require.Equal(t, "shifts.csv line 3", g.Places[1].String())
	require.Equal(t, reading.At(40).Lower, g.Readings[0].Lower, "a sample without a start stands alone")
}

// What a part has no value for, the average has bounds for.
func TestConsecutiveSamplesKeepTheirBounds(t *testing.T) {
	t.Parallel()
	for rows, want := range map[[2]string]reading.Reading{
		{"<2", "<4"}:     reading.Under(3),
		{"<2", "4"}:      reading.Within(2, 3),
		{"1..2", "<4"}:   reading.Within(0.5, 3),
		{">8", "2"}:      reading.Over(5),
		{">8", "<2"}:     reading.Over(4),
		{"0..2", "0..4"}: reading.Under(3),
		{"3", "5"}:       reading.At(4),
	} {
		groups, err := combined(t, 8*time.Hour, "bay,a,"+rows[0]+",ppm,P1,2026-03-09T06:00,240", "bay,a,"+rows[1]+",ppm,P1,2026-03-09T10:00,240")
		require.NoError(t, err)
		require.Len(t, groups[0].Readings, 1)
		got := groups[0].Readings[0]
		require.NoError(t, got.Check())
		require.Equal(t, []any{want.Kind, want.Lower, want.Upper}, []any{got.Kind, got.Lower, got.Upper}, "%v", rows)
	}
}

func TestSamplesOfTwoShiftsStandAlone(t *testing.T) {
	t.Parallel()
	back := []string{"bay,a,3,ppm,P1,2026-03-09T06:00,480", "bay,a,5,ppm,P1,2026-03-09T14:00,480"}
	groups, err := combined(t, 8*time.Hour, back...)
	require.NoError(t, err)
	require.Len(t, groups[0].Readings, 2)
	require.Empty(t, groups[0].Remarks)
	_, err = combined(t, 8*time.Hour, back[0], "bay,a,5,ppm,P1,2026-03-09T07:00,60")
	require.ErrorContains(t, err, "shifts.csv line 3: overlaps in time with the sample of shifts.csv line 2, of the same zone and subject")
}
