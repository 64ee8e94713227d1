package table_test

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// What rows hold behind a header of other columns would be taken for the columns of the first: no row may be read so.
func TestRenamed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, line       string
		renames, repeats bool
	}{
		{"another order", "time,h2s,co", true, false},
		{"another unit", "time,co (mg/m3),h2s", true, false},
		{"the time alone", "Time,no2,o3", true, false},
		{"another case", "Time, CO ,h2s", true, true},
		{"units under the header", ",ppm,ppm", false, false},
		{"a row", "2026-03-09 07:30,1,2", false, false},
		{"a word in its column", "2026-03-09 07:30,co,2", false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, err := table.Open("t.csv", strings.NewReader("time,co,h2s\n"+c.line+"\n"), table.Options{Expect: []string{"time"}, Format: table.Format{Delimiter: ","}})
			require.NoError(t, err)
			cells, err := r.Next()
			require.NoError(t, err)
			require.Equal(t, c.renames, r.Renames(cells, 0))
			require.Equal(t, c.repeats, r.Repeats(cells))
			require.EqualError(t, r.Renamed(), "t.csv line 2: names the columns otherwise than the header on line 1; divide the file there, so that each part has one header")
		})
	}
	// Sensors may be called by numbers, as rows are.
	numbers, err := table.Open("t.csv", strings.NewReader("time,1,2\n2026-03-09 07:30,1,2,1\n2026-03-09 07:31,1,2\n"), table.Options{Expect: []string{"time"}})
	require.NoError(t, err)
	_, err = numbers.Next()
	var narrow *table.BadRow
	require.ErrorAs(t, err, &narrow)
	// A header with a column more is no row of the wrong width.
	r, err := table.Open("t.csv", strings.NewReader("time,co,h2s\n2026-03-09 07:30,1,2\ntime,co,h2s,no2\n"), table.Options{Expect: []string{"time"}})
	require.NoError(t, err)
	_, err = r.Next()
	require.NoError(t, err)
	_, err = r.Next()
	var bad *table.BadRow
	require.NotErrorAs(t, err, &bad)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	_, err = r.Next()
	require.ErrorIs(t, err, io.EOF)
}

// A number with one group of three behind its point is not read where nothing before showed the mark.
func TestUnsureMark(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text, cell string
		unsure     bool
	}{
		{"zone;result\nk;900\n", "1.234", true},
		{"zone;result\nk;900\n", ">1.234", true},
		{"zone;result\nk;900\n", "0.234", false},
		{"zone;result\nk;900\n", "1.5", false},
		{"zone\tresult\nk\t900\n", "1.234", true},
		{"zone,result\nk,900\n", "1.234", false},
		{"zone;result\nk;0.5\n", "1.234", false},
	} {
		r, err := table.Open("t.csv", strings.NewReader(c.text), table.Options{Expect: []string{"zone"}})
		require.NoError(t, err)
		require.Equal(t, c.unsure, r.Unsure([]byte(c.cell)), "%q %s", c.text, c.cell)
	}
	r, err := table.Open("t.csv", strings.NewReader("zone;result\nk;900\n"), table.Options{Expect: []string{"zone"}, Format: table.Format{DecimalMark: "."}})
	require.NoError(t, err)
	require.False(t, r.Unsure([]byte("1.234")), "the mark was stated")
}

func TestNamedMonths(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		"09-Mar-2026 07:30", "9 March 2026 7:30 a.m.", "2026-MAR-09T07:30:00", "Mar 9, 2026 7:30 AM", "march 9 2026 07:30", "09/mar/2026 07:30 A.M.", "9.Mar.2026 07:30Z",
	} {
		_, got := times(t, table.Format{}, false, `"`+text+`"`)
		require.Equal(t, []string{"2026-03-09T07:30:00Z"}, got, text)
	}
	for _, text := range []string{
		"09-Mar-260", "9-Mar-6", "09-Mrz-2026", "Mar-09-2026", "9 Marc 2026", "31-Feb-2026", "09-Mar-2026 07:30 a.m", "09-Mar-2026 07:30 am.", "009-Mar-2026", "09-Mar 2026", "Mar 9, 26", "Mar",
		"09-Mar-2026 13:30 p.m.",
	} {
		_, got := times(t, table.Format{}, false, `"`+text+`"`)
		require.Contains(t, got[0], "is not a time", text)
	}
	// A year of two digits takes a stated order.
	_, got := times(t, table.Format{}, false, "09-Mar-26 07:30")
	require.Equal(t, []string{`t.csv: has dates such as "09-Mar-26 07:30", whose year has two digits; state their order, day-month-year or year-month-day`}, got)
	for order, want := range map[string]string{"day-month-year": "2026-03-09T07:30:00Z", "month-day-year": "2026-03-09T07:30:00Z", "year-month-day": "2009-03-26T07:30:00Z"} {
		_, got = times(t, table.Format{DateOrder: order}, false, "09-Mar-26 07:30")
		require.Equal(t, []string{want}, got)
	}
	// Every month of the English calendar, whole and short, as package time of the standard library writes them.
	for m := time.January; m <= time.December; m++ {
		at := time.Date(2026, m, 28, 23, 59, 0, 0, time.UTC)
		for _, layout := range []string{"02-Jan-2006 15:04", "2 January 2006 03:04 PM"} {
			_, got := times(t, table.Format{}, false, at.Format(layout))
			require.Equal(t, []string{at.Format(time.RFC3339)}, got)
		}
	}
}

// The clock of Paris was put forward on 29 March 2026 at 2:00 and back on 25 October 2026 at 3:00 (tz database, rule EU).
func TestTimeIn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, zone, want, wrong string }{
		{"2026-03-29 01:59", "Europe/Paris", "2026-03-29T00:59:00Z", ""},
		{"2026-03-29 02:30", "Europe/Paris", "", "does not exist in Europe/Paris"},
		{"2026-10-25 02:30", "Europe/Paris", "", "is shown twice by the clock of Europe/Paris, which was put back; state its offset"},
		{"2026-10-25 02:30+01:00", "Europe/Paris", "2026-10-25T01:30:00Z", ""},
		{"2026-10-25 03:00", "Europe/Paris", "2026-10-25T02:00:00Z", ""},
		{"2026-10-25 02:30", "+01:00", "2026-10-25T01:30:00Z", ""},
		{"2026-10-25 02:30", "", "2026-10-25T02:30:00Z", ""},
		{"2026-10-25 02:30", "Mars/Base", "", "is not known"},
		{"noon", "", "", "is not a time"},
	} {
		at, wrong := table.TimeIn(c.text, c.zone)
		if c.wrong != "" {
			require.Contains(t, wrong, c.wrong, c.text)
			continue
		}
		require.Empty(t, wrong)
		require.Equal(t, c.want, at.UTC().Format(time.RFC3339), c.text)
	}
}

// A row out of order within an hour that the clock shows twice is that, and not the second pass.
func TestOutOfOrderInAnHourShownTwice(t *testing.T) {
	t.Parallel()
	paris := table.Format{TimeZone: "Europe/Paris"}
	_, got := times(t, paris, true, "2026-10-25 02:10", "2026-10-25 02:20", "2026-10-25 02:15", "2026-10-25 02:30")
	require.Equal(t, []string{"2026-10-25T00:10:00Z", "2026-10-25T00:20:00Z", "2026-10-25T00:15:00Z", "2026-10-25T00:30:00Z"}, got)
	// Rows further apart than the passes keep their step: every two hours in New York (tz database, rule US, 1 November 2026).
	_, got = times(t, table.Format{TimeZone: "America/New_York"}, true, "2026-10-31 22:00", "2026-11-01 00:00", "2026-11-01 01:00", "2026-11-01 03:00")
	require.Equal(t, []string{"2026-11-01T02:00:00Z", "2026-11-01T04:00:00Z", "2026-11-01T06:00:00Z", "2026-11-01T08:00:00Z"}, got)
	// A row behind a long gap does not set the step of what follows.
	_, got = times(t, paris, true, "2026-10-25 00:00", "2026-10-25 01:59", "2026-10-25 02:00", "2026-10-25 02:01")
	require.Equal(t, []string{"2026-10-24T22:00:00Z", "2026-10-24T23:59:00Z", "2026-10-25T00:00:00Z", "2026-10-25T00:01:00Z"}, got)
	// Rows as far apart as that are the second pass.
	_, got = times(t, paris, true, "2026-10-25 01:30", "2026-10-25 02:10", "2026-10-25 02:50", "2026-10-25 02:30", "2026-10-25 03:10")
	require.Equal(t, []string{"2026-10-24T23:30:00Z", "2026-10-25T00:10:00Z", "2026-10-25T00:50:00Z", "2026-10-25T01:30:00Z", "2026-10-25T02:10:00Z"}, got)
}
