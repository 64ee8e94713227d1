package table_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/table"
)

// times reads the first column as times and returns them in UTC, or what was wrong.
func times(t *testing.T, f table.Format, ascending bool, cells ...string) (*table.Reader, []string) {
	t.Helper()
	r, err := table.Open("t.csv", strings.NewReader("time;a\n"+strings.Join(cells, ";1\n")+";1\n"), table.Options{Format: f, Expect: []string{"time"}})
	require.NoError(t, err)
	c, err := r.Clock(0)
	if err != nil {
		return nil, []string{err.Error()}
	}
	if ascending {
		c.Ascending()
	}
	var out []string
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return r, out
		}
		require.NoError(t, err)
		at, wrong := c.Day(row[0])
		if wrong == "" {
			wrong = at.UTC().Format(time.RFC3339Nano)
		}
		out = append(out, wrong)
	}
}

func TestTimesAreRead(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ order, text, want string }{
		{"", "2026-03-09", "2026-03-09T00:00:00Z"},
		{"", "2026-03-09 07:30", "2026-03-09T07:30:00Z"},
		{"", "2026-03-09T07:30", "2026-03-09T07:30:00Z"},
		{"", "2026-03-09 07:30:15", "2026-03-09T07:30:15Z"},
		{"", "2026-03-09T07:30:15Z", "2026-03-09T07:30:15Z"},
		{"", "2026-03-09T07:30:15.5+01:00", "2026-03-09T06:30:15.5Z"},
		{"", "2026-03-09 07:30:15,25 -0330", "2026-03-09T11:00:15.25Z"},
		{"", "2026/3/9 7:30", "2026-03-09T07:30:00Z"},
		{"", "2026.03.09 07:30 pm", "2026-03-09T19:30:00Z"},
		{"day-month-year", "09/03/2026 07:30", "2026-03-09T07:30:00Z"},
		{"day-month-year", "9.3.2026  7:30:15", "2026-03-09T07:30:15Z"},
		{"day-month-year", "09-03-26 12:30 AM", "2026-03-09T00:30:00Z"},
		{"day-month-year", "2026-03-09 07:30", "2026-03-09T07:30:00Z"},
		{"month-day-year", "03/09/2026 12:30:00 PM", "2026-03-09T12:30:00Z"},
		{"month-day-year", "3/9/2026", "2026-03-09T00:00:00Z"},
		{"year-month-day", "26-03-09", "2026-03-09T00:00:00Z"},
		{"", "2024-02-29", "2024-02-29T00:00:00Z"},
		{"", "2026-02-29", `"2026-02-29" is not a time: that day does not exist`},
		{"", "2026-13-01", `"2026-13-01" is not a time: there is no such day, the order being year-month-day`},
		{"day-month-year", "03/13/2026", `"03/13/2026" is not a time: there is no such day, the order being day-month-year`},
		{"", "2026-03-09 24:30", `"2026-03-09 24:30" is not a time; accepted are 2026-03-09,`},
		{"", "2026-03-09 07:60", `is not a time`},
		{"", "2026-03-09 13:00 PM", `is not a time`},
		{"", "2026-03/09", `is not a time`},
		{"", "2026-03-09 07:30 CET", `is not a time`},
		{"", "7:30", `"7:30" is not a time`},
		{"", "tomorrow", `"tomorrow" is not a time`},
		{"", "0000-01-01", `is not a time`},
		{"", "26/03/09", `"26/03/09" has a year of two digits; state the order of the date to have it read as 20..`},
	} {
		_, got := times(t, table.Format{DateOrder: c.order}, false, c.text, "2026-03-01")
		require.Contains(t, got[0], c.want, c.text)
		if strings.HasPrefix(c.want, "20") {
			require.Equal(t, c.want, got[0])
		}
	}
}

// Every way of writing a time comes back to the same time.
func TestTimesRoundTrip(t *testing.T) {
	t.Parallel()
	layouts := []struct{ order, layout string }{
		{"", "2006-01-02 15:04:05"},
		{"", "2006/1/2 15:04:05"},
		{"", "2006-01-02T15:04:05Z07:00"},
		{"day-month-year", "02.01.2006 15:04:05"},
		{"day-month-year", "2/1/2006 3:04:05 PM"},
		{"month-day-year", "01/02/2006 03:04:05 PM"},
		{"month-day-year", "1-2-06 15:04:05"},
	}
	rapid.Check(t, func(rt *rapid.T) {
		at := time.Unix(rapid.Int64Range(946_684_800, 4_102_444_799).Draw(rt, "seconds"), 0).UTC() // 2000 to 2099.
		l := rapid.SampledFrom(layouts).Draw(rt, "layout")
		_, got := times(t, table.Format{DateOrder: l.order}, false, at.Format(l.layout))
		require.Equal(rt, []string{at.Format(time.RFC3339)}, got)
	})
}

// The order of dates is taken only from rows that allow no other.
func TestDateOrder(t *testing.T) {
	t.Parallel()
	r, got := times(t, table.Format{}, false, "09/03/2026", "13/03/2026")
	require.Equal(t, []string{"2026-03-09T00:00:00Z", "2026-03-13T00:00:00Z"}, got)
	require.Equal(t, "day-month-year", r.Format().DateOrder)
	require.Contains(t, unusual(r), `The dates were read as day-month-year, for "13/03/2026" on line 3 cannot be otherwise.`)
	r, got = times(t, table.Format{}, false, "03/09/2026", "3/13/2026")
	require.Equal(t, []string{"2026-03-09T00:00:00Z", "2026-03-13T00:00:00Z"}, got)
	require.Equal(t, "month-day-year", r.Format().DateOrder)
	_, got = times(t, table.Format{}, false, "03/09/2026", "04/09/2026")
	require.Equal(t, []string{`t.csv: has dates such as "03/09/2026", in which the day or the month may come first, and no day above 12 in its first rows ` +
		`shows which; state their order, day-month-year or month-day-year`}, got)
	_, got = times(t, table.Format{}, false, "13/03/2026", "03/14/2026")
	require.Equal(t, []string{`t.csv line 3: has the month first in "03/14/2026", and line 2 has the day first in "13/03/2026"; state the order of the dates`}, got)
	// One slip among dates that begin with the year costs its own row.
	r, got = times(t, table.Format{}, false, "2026-03-09", "09/03/2026")
	require.Equal(t, []string{"2026-03-09T00:00:00Z", `"09/03/2026" does not begin with the year, and the order of day and month is not known; state it`}, got)
	require.Equal(t, "year-month-day", r.Format().DateOrder)
	// The proof may stand far behind the first rows.
	many := make([]string, 0, 10_000)
	for i := range 10_000 {
		many = append(many, time.Date(2026, 3, 1, 0, 2*i, 0, 0, time.UTC).Format("02/01/2006 15:04"))
	}
	r, got = times(t, table.Format{}, false, many...)
	require.Equal(t, "day-month-year", r.Format().DateOrder)
	require.Equal(t, "2026-03-14T21:18:00Z", got[len(got)-1])
}

// The clock of Paris was put forward on 29 March 2026 at 2:00 and back on 25 October 2026 at 3:00 (tz database, rule EU).
func TestClockChanges(t *testing.T) {
	t.Parallel()
	paris := table.Format{TimeZone: "Europe/Paris"}
	_, got := times(t, paris, true, "2026-03-29 01:59", "2026-03-29 02:30", "2026-03-29 03:00")
	require.Equal(t, []string{
		"2026-03-29T00:59:00Z", `"2026-03-29 02:30" does not exist in Europe/Paris: the clock was put forward over it`, "2026-03-29T01:00:00Z",
	}, got)
	r, got := times(t, paris, true, "2026-10-25 01:50", "2026-10-25 02:10", "2026-10-25 02:50", "2026-10-25 02:10", "2026-10-25 02:50", "2026-10-25 03:00")
	require.Equal(t, []string{
		"2026-10-24T23:50:00Z", "2026-10-25T00:10:00Z", "2026-10-25T00:50:00Z", "2026-10-25T01:10:00Z", "2026-10-25T01:50:00Z", "2026-10-25T02:00:00Z",
	}, got)
	require.Equal(t, []string{"t.csv: 4 times were shown twice by the clock of Europe/Paris, which was put back; the rows before decided which of the two was taken"}, r.Notes())
	r, got = times(t, paris, false, "2026-10-25 02:50", "2026-10-25 02:10")
	require.Equal(t, []string{"2026-10-25T00:50:00Z", "2026-10-25T00:10:00Z"}, got)
	require.Contains(t, r.Notes()[0], "the first of the two was taken")
	// Half an hour on Lord Howe Island, 4:00 back to 3:30 by summer time, on 5 April 2026 (tz database, rule LH).
	_, got = times(t, table.Format{TimeZone: "Australia/Lord_Howe"}, true, "2026-04-05 01:20", "2026-04-05 01:50", "2026-04-05 01:40", "2026-04-05 02:10")
	require.Equal(t, []string{"2026-04-04T14:20:00Z", "2026-04-04T14:50:00Z", "2026-04-04T15:10:00Z", "2026-04-04T15:40:00Z"}, got)
	// Two rows of one time are one time, but those of a logger that writes once an hour are two.
	_, got = times(t, paris, true, "2026-10-25 02:10", "2026-10-25 02:10", "2026-10-25 02:11")
	require.Equal(t, []string{"2026-10-25T00:10:00Z", "2026-10-25T00:10:00Z", "2026-10-25T00:11:00Z"}, got)
	_, got = times(t, paris, true, "2026-10-25 01:00", "2026-10-25 02:00", "2026-10-25 02:00", "2026-10-25 03:00")
	require.Equal(t, []string{"2026-10-24T23:00:00Z", "2026-10-25T00:00:00Z", "2026-10-25T01:00:00Z", "2026-10-25T02:00:00Z"}, got)
	// A written offset needs no clock, and an offset as the zone has no changes.
	_, got = times(t, paris, true, "2026-10-25T02:10:00+01:00")
	require.Equal(t, []string{"2026-10-25T01:10:00Z"}, got)
	_, got = times(t, table.Format{TimeZone: "-03:30"}, true, "2026-10-25 02:10")
	require.Equal(t, []string{"2026-10-25T05:40:00Z"}, got)
}

// Whatever the zone, a time that the clock shows comes back as one that it shows so.
func TestZonesRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.SampledFrom([]string{"Europe/Paris", "America/St_Johns", "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Kolkata", "Antarctica/Troll"}).Draw(rt, "zone")
		zone, err := time.LoadLocation(name)
		require.NoError(rt, err)
		at := time.Unix(rapid.Int64Range(946_684_800, 1_893_456_000).Draw(rt, "seconds"), 0).In(zone)
		_, got := times(t, table.Format{TimeZone: name}, false, at.Format(time.DateTime))
		back, err := time.Parse(time.RFC3339, got[0])
		require.NoError(rt, err)
		require.Equal(rt, at.Format(time.DateTime), back.In(zone).Format(time.DateTime))
		require.False(rt, back.After(at), "the first of two")
	})
}

func TestTimeColumns(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]int{
		"time;a;b\n2026-03-09 07:30;1;2\n":         {0},
		"date;time;b\n2026-03-09;07:30;2\n":        {0, 1},
		"date;time;b\n2026-03-09;7:30:00 PM;2\n":   {0, 1},
		"date;b;c\n2026-03-09;5;2\n":               {0},
		"no;time;b\n1;2026-03-09 07:30;2\n":        {1},
		"no;date;time;b\n1;2026-03-09;07:30;2\n":   {1, 2},
		"a;b;c\n1;2;3\n":                           {0},
		"date;b;c\nx;5;2\n2026-03-09;07:30:10;2\n": {0, 1},
	} {
		r, err := table.Open("t.csv", strings.NewReader(text), table.Options{})
		require.NoError(t, err)
		require.Equal(t, want, r.TimeColumns(), text)
	}
}

func TestParseTime(t *testing.T) {
	t.Parallel()
	at, ok := table.ParseTime("2026-03-09T07:30:00+01:00")
	require.True(t, ok)
	require.Equal(t, "2026-03-09T06:30:00Z", at.UTC().Format(time.RFC3339))
	for _, bad := range []string{"09/03/2026 07:30", "2026-03-09", ""} {
		_, ok = table.ParseTime(bad)
		require.False(t, ok, bad)
	}
}

// FuzzTime holds the reading of any time to one promise: a time between the years 999 and 9999, or words.
func FuzzTime(f *testing.F) {
	for _, s := range []string{"2026-03-09 07:30:00", "9/3/26 7:30 PM", "31.12.9998 23:59:59.999999999 -2359", "1000-01-01+23:59"} {
		f.Add(s, "day-month-year", "Europe/Paris")
	}
	f.Fuzz(func(t *testing.T, cell, order, zone string) {
		r, err := table.Open("t.csv", strings.NewReader("a;b\n"), table.Options{Format: table.Format{DateOrder: order, TimeZone: zone}})
		if err != nil {
			return
		}
		c, err := r.Clock(0)
		if err != nil {
			return
		}
		for _, read := range []func([]byte) (time.Time, string){c.Day, c.Time} {
			at, wrong := read([]byte(cell))
			if year := at.UTC().Year(); wrong == "" && (year < 999 || year > 9999) {
				t.Fatal(at)
			}
		}
	})
}

func BenchmarkClock(b *testing.B) {
	for _, c := range []struct{ order, zone, cell string }{
		{"", "", "2026-03-09 07:30:00"}, {"day-month-year", "", "09/03/2026 07:30:00"}, {"month-day-year", "Europe/Paris", "03/09/2026 7:30:00 PM"},
	} {
		b.Run(fmt.Sprint(c.cell, c.zone), func(b *testing.B) {
			r, err := table.Open("t.csv", strings.NewReader("a;b\n"), table.Options{Format: table.Format{DateOrder: c.order, TimeZone: c.zone}})
			require.NoError(b, err)
			clock, err := r.Clock(0)
			require.NoError(b, err)
			cell := []byte(c.cell)
			b.ReportAllocs()
			for b.Loop() {
				if _, wrong := clock.Time(cell); wrong != "" {
					b.Fatal(wrong)
				}
			}
		})
	}
}

// Regular rows are followed through every change of a clock, however far apart they are. What they are is known from the tz database of
// the standard library, which stamps them.
func TestClockFollowsRegularRows(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		zone  string
		begin time.Time
	}{
		{"Europe/Paris", time.Date(2026, 10, 24, 20, 0, 0, 0, time.UTC)},
		{"Europe/Paris", time.Date(2026, 3, 28, 20, 0, 0, 0, time.UTC)},
		{"America/New_York", time.Date(2026, 10, 31, 22, 0, 0, 0, time.UTC)},
		{"America/New_York", time.Date(2026, 3, 8, 0, 0, 0, 0, time.UTC)},
		{"Australia/Lord_Howe", time.Date(2026, 4, 4, 10, 0, 0, 0, time.UTC)},
	} {
		place, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		for _, minutes := range []int{1, 2, 5, 7, 10, 15, 20, 25, 30, 40, 60, 90, 120} {
			var cells, want []string
			for at := c.begin; at.Before(c.begin.Add(20 * time.Hour)); at = at.Add(time.Duration(minutes) * time.Minute) {
				cells, want = append(cells, at.In(place).Format(time.DateTime)), append(want, at.Format(time.RFC3339))
			}
			_, got := times(t, table.Format{TimeZone: c.zone}, true, cells...)
			require.Equal(t, want, got, "%s, every %d minutes", c.zone, minutes)
		}
	}
}
