package trace_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
	"example.com/tailbound/service/trace"
)

// readLog reads a log to its end: the values of each row, and what was rejected.
func readLog(t *testing.T, text string, before func(*trace.Log)) (l *trace.Log, rows, rejected []string) {
	t.Helper()
	l, err := trace.OpenLog("log.csv", strings.NewReader(text), trace.LogOptions{})
	require.NoError(t, err)
	if before != nil {
		before(l)
	}
	r, err := l.ReadAll(false, func(_ time.Time, values []float64) error {
		rows = append(rows, fmt.Sprint(values))
		return nil
	})
	require.NoError(t, err)
	for _, one := range r.First {
		rejected = append(rejected, one.String())
	}
	return l, rows, rejected
}

// A cell that cannot be read costs its channel one value, and the others nothing.
func TestBadCellsAreNoReadings(t *testing.T) {
	t.Parallel()
	const text = "time,CO,dust\n2026-03-09 07:30,1,2\n2026-03-09 07:31,OVER,3\n2026-03-09 07:32,4,<0.1\n2026-03-09 07:33,OL,\n"
	l, rows, rejected := readLog(t, text, nil)
	require.Equal(t, []string{"[1 2]", "[NaN 3]", "[4 NaN]", "[NaN NaN]"}, rows)
	require.Equal(t, []string{
		`log.csv line 3, column CO: "OVER" is not a number; accepted are a number with a decimal point and without separators of thousands, and an empty cell for no reading`,
		`log.csv line 4, column dust: "<0.1" is under a limit; state the detection limit of the column, at least 0.1, to have it read`,
		`log.csv line 5, column CO: "OL" is not a number; accepted are a number with a decimal point and without separators of thousands, and an empty cell for no reading`,
	}, rejected)
	require.Equal(t, []string{
		`log.csv, column CO: cells that are no number, such as "OVER", were taken as no reading: 2 of 4 rows. An instrument that writes a word when it is over its ` +
			`range hides its highest values so, and averages may be too low.`,
		`log.csv, column dust: cells that are no number, such as "<0.1", were taken as no reading: 1 of 4 rows. They are the lowest values, and averages may be too high.`,
	}, l.Cautions())
	// A column that nobody asked for may hold what it likes.
	l, rows, rejected = readLog(t, text, func(l *trace.Log) { l.Use(1) })
	require.Equal(t, []string{"[NaN 2]", "[NaN 3]", "[NaN NaN]", "[NaN NaN]"}, rows)
	require.Len(t, rejected, 1)
	require.Len(t, l.Cautions(), 1)
}

// A cell such as >500 is read only when what was stated of the column makes it right.
func TestBoundsInCells(t *testing.T) {
	t.Parallel()
	inf := math.Inf(1)
	for _, c := range []struct {
		cell         string
		limit, scale float64
		want, wrong  string
	}{
		{">500", 0, 500, "[500]", ""},
		{"> 600", 0, 500, "[600]", ""},
		{">500", 0, 501, "[NaN]", `">500" may be under the full scale stated, 501; accepted is one of at most 500`},
		{">500", 0, inf, "[NaN]", `">500" is over a range; state the full scale of the column, at most 500`},
		{"<0.1", 0.1, inf, "[0]", ""},
		{"< 0.05", 0.1, inf, "[0]", ""},
		{"<0.1", 0.05, inf, "[NaN]", `"<0.1" may be over the detection limit stated, 0.05; accepted is one of at least 0.1`},
		{"<0.1", 0, inf, "[NaN]", `"<0.1" is under a limit; state the detection limit of the column, at least 0.1`},
		{"<0.1", math.NaN(), inf, "[NaN]", `"<0.1" is under a limit, which cannot be read where the drift is taken out`},
		{"<-1", 1, inf, "[NaN]", `"<-1" is not a number`},
		{">0", 0, 0.5, "[NaN]", `">0" is not a number`},
		{"<", 1, 5, "[NaN]", `"<" is not a number`},
		{">>5", 1, 5, "[NaN]", `">>5" is not a number`},
		{"=5", 1, 5, "[NaN]", `"=5" is not a number`},
	} {
		_, rows, rejected := readLog(t, "time,CO\n2026-03-09 07:30,7\n2026-03-09 07:31,"+c.cell+"\n", func(l *trace.Log) { l.Range(0, c.limit, c.scale) })
		require.Equal(t, c.want, rows[1], c.cell)
		require.Len(t, rejected, map[bool]int{true: 0, false: 1}[c.wrong == ""], c.cell)
		if c.wrong != "" {
			require.Contains(t, rejected[0], "log.csv line 3, column CO: "+c.wrong)
		}
	}
	l, _, _ := readLog(t, "time,CO\n2026-03-09 07:30,>7\n2026-03-09 07:31,<0.1\n", func(l *trace.Log) { l.Range(0, 0.1, 7) })
	require.Equal(t, []string{
		"log.csv, column CO: cells such as <0.1 were read as under the detection limit 0.1: 1",
		"log.csv, column CO: cells such as >500 were read as at or over the full scale 7: 1",
	}, l.Notes())
}

// The list of a column that holds nothing but words leaves room for what is wrong elsewhere.
func TestListOfBadCells(t *testing.T) {
	t.Parallel()
	var text strings.Builder
	text.WriteString("time,CO,status\n")
	for i := range 400 {
		fmt.Fprintf(&text, "2026-03-09 07:%02d:%02d,%d,ok\n", i/60, i%60, i)
	}
	text.WriteString("2026-03-09 09:00:00,ERR,ok\n")
	l, rows, rejected := readLog(t, text.String(), nil)
	require.Len(t, rows, 401)
	require.Len(t, rejected, 21)
	require.Contains(t, rejected[20], `log.csv line 402, column CO: "ERR"`)
	require.Contains(t, l.Cautions()[1], `column status: cells that are no number, such as "ok", were taken as no reading: 401 of 401 rows.`)
}

// A log may not go on under another header: its values would be taken for those of the first.
func TestLogWithAnotherHeader(t *testing.T) {
	t.Parallel()
	for _, header := range []string{"time,dust,CO", "time,CO (mg/m3),dust", "Time,a,b", "time,CO,dust,more"} {
		l, err := trace.OpenLog("log.csv", strings.NewReader("time,CO,dust\n2026-03-09 07:30,1,2\n"+header+"\n2026-03-09 07:31,2,1\n"), trace.LogOptions{})
		require.NoError(t, err)
		_, err = l.ReadAll(false, func(time.Time, []float64) error { return nil })
		require.EqualError(t, err, "log.csv line 3: names the columns otherwise than the header on line 1; divide the file there, so that each part has one header")
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	l, rows, rejected := readLog(t, "time,CO,dust\n2026-03-09 07:30,1,2\nTIME , co,Dust\n2026-03-09 07:31,2,1\n", nil)
	require.Equal(t, []string{"[1 2]", "[2 1]"}, rows)
	require.Empty(t, rejected)
	require.Equal(t, []string{"log.csv: the header is repeated on 1 line, which was passed over"}, l.Notes())
	require.EqualValues(t, 2, l.Rows())
}

// The unit stands in the last brackets of a header.
func TestUnitsInHeaders(t *testing.T) {
	t.Parallel()
	for header, want := range map[string]trace.Column{
		"CO (ppm)":            {Name: "CO", Unit: "ppm"},
		"air (inlet) (mg/m³)": {Name: "air (inlet)", Unit: "mg/m³"},
		"PM2.5 [µg/m3]":       {Name: "PM2.5", Unit: "µg/m3"},
		"(ppm)":               {Name: "(ppm)"},
		"CO (ppm":             {Name: "CO (ppm"},
		"CO (ppm) raw":        {Name: "CO (ppm) raw"},
	} {
		l, err := trace.OpenLog("log.csv", strings.NewReader("time,"+header+"\n2026-03-09 07:30,1\n"), trace.LogOptions{})
		require.NoError(t, err)
		require.Equal(t, []trace.Column{want}, l.Columns())
	}
}

func TestFirstTime(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text, zone, want string
		zoned, found     bool
	}{
		{"time,CO\nppm,ppm\n2026-03-09 07:30,1\n", "Europe/Paris", "2026-03-09T07:30:00+01:00", false, true},
		{"time,CO\n2026-03-09T23:30:00Z,1\n", "Europe/Paris", "2026-03-10T00:30:00+01:00", true, true},
		{"time,CO\n2026-03-09 07:30,1\n", "", "2026-03-09T07:30:00Z", false, true},
		{"time,CO\nx,1\n", "", "", false, false},
	} {
		l, err := trace.OpenLog("log.csv", strings.NewReader(c.text), trace.LogOptions{Format: table.Format{TimeZone: c.zone}})
		require.NoError(t, err)
		at, zoned, found := l.FirstTime()
		require.Equal(t, c.found, found)
		require.Equal(t, c.zoned, zoned)
		if found {
			require.Equal(t, c.want, at.Format(time.RFC3339))
		}
	}
}
