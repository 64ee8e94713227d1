package trace_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
	"example.com/tailbound/service/trace"
)

func TestLogReadsRows(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		"time,CO (ppm),dust [mg/m3],\n2026-03-09T07:30:00,1.5,,\n2026-03-09 07:31:00,-2,3e-1,\n",
		"\uFEFFtime;CO (ppm);dust [mg/m3];\r\n# a remark\r\n\r\n2026-03-09T08:30:00+01:00;1.5;;\r\ntime;CO (ppm);dust [mg/m3];\r\n2026-03-09 07:31;-2; 0.3 ;",
		"time\tCO (ppm)\t\"dust [mg/m3]\"\t\n\"2026-03-09T07:30:00.0\"\t1.5\t\t\n2026-03-09T07:31\t-2.0\t\"0.3\"\t",
	} {
		l, err := trace.OpenLog("log.csv", strings.NewReader(text), trace.LogOptions{})
		require.NoError(t, err)
		require.Equal(t, []trace.Column{{Name: "CO", Unit: "ppm"}, {Name: "dust", Unit: "mg/m3"}}, l.Columns())
		values := make([]float64, 2)
		at, err := l.Next(values)
		require.NoError(t, err)
		require.Equal(t, "2026-03-09T07:30:00Z", at.UTC().Format(time.RFC3339))
		require.Equal(t, 1.5, values[0])
		require.True(t, math.IsNaN(values[1]))
		at, err = l.Next(values)
		require.NoError(t, err)
		require.Equal(t, "2026-03-09T07:31:00Z", at.UTC().Format(time.RFC3339))
		require.Equal(t, []float64{-2, 0.3}, values)
		_, err = l.Next(values)
		require.ErrorIs(t, err, io.EOF)
		var want []string
		if strings.HasPrefix(text, "\uFEFF") {
			want = append(want, "log.csv: the header is repeated on 1 line, which was passed over")
		}
		if !strings.HasSuffix(text, "\n") {
			want = append(want, fmt.Sprintf("log.csv line %d: the file ends without the end of this line; if the instrument was cut off while writing, "+
				"its last value may be cut too", 1+strings.Count(text, "\n")))
		}
		require.Equal(t, want, l.Notes())
	}
}

func TestLogFindsTheTimeByName(t *testing.T) {
	t.Parallel()
	l, err := trace.OpenLog("log.csv", strings.NewReader("CO,When\n1,2026-03-09 07:30\n"), trace.LogOptions{TimeColumn: "when"})
	require.NoError(t, err)
	values := []float64{0}
	at, err := l.Next(values)
	require.NoError(t, err)
	require.Equal(t, 7, at.Hour())
	require.Equal(t, []float64{1}, values)
}

// A log as the instruments of another country write it.
func TestLogOfAnotherCountry(t *testing.T) {
	t.Parallel()
	text := "Seriennummer;4711\n\nDatum;Uhrzeit;CO (ppm);Staub [mg/m3];\n13.03.2026;07:30:00;1,5;;\n;;ppm;mg/m3;\n13.03.2026;07:31:00;-2;0,3;\n13.03.2026;07:32:00;Fehler;0,3;\n"
	for _, column := range []string{"", "datum + uhrzeit"} {
		l, err := trace.OpenLog("log.csv", strings.NewReader(text), trace.LogOptions{Format: table.Format{TimeZone: "+01:00"}, TimeColumn: column})
		require.NoError(t, err)
		require.Equal(t, []trace.Column{{Name: "CO", Unit: "ppm"}, {Name: "Staub", Unit: "mg/m3"}}, l.Columns())
		var rows []string
		rejected, err := l.ReadAll(false, func(at time.Time, values []float64) error {
			rows = append(rows, fmt.Sprint(at.UTC().Format(time.DateTime), values))
			return nil
		})
		require.NoError(t, err)
		require.Equal(t, []string{"2026-03-13 06:30:00[1.5 NaN]", "2026-03-13 06:31:00[-2 0.3]", "2026-03-13 06:32:00[NaN 0.3]"}, rows)
		require.EqualValues(t, 4, l.Rows())
		require.EqualValues(t, 1, rejected.Rows)
		require.EqualValues(t, 1, rejected.Cells)
		require.Equal(t, `log.csv line 5: "" is not a time; accepted are 2026-03-09 07:30:00, 2026-03-09T07:30:00+01:00 and, in a known order, 09/03/2026 07:30`,
			strings.Replace(rejected.First[0].String(), `" "`, `""`, 1))
		require.Equal(t, `log.csv line 7, column CO: "Fehler" is not a number; accepted are a number with a decimal comma and without separators of thousands, `+
			"and an empty cell for no reading", rejected.First[1].String())
		require.Equal(t, table.Format{Encoding: "utf-8", Delimiter: ";", DecimalMark: ",", DateOrder: "day-month-year", TimeZone: "+01:00"}, l.Format())
		require.Equal(t, []string{"log.csv: 1 line above the header, which is on line 3, was skipped"}, l.Notes())
		require.Len(t, l.Guesses(), 4+map[string]int{"": 1}[column])
	}
}

func TestLogReadAll(t *testing.T) {
	t.Parallel()
	open := func(text string) *trace.Log {
		l, err := trace.OpenLog("log.csv", strings.NewReader(text), trace.LogOptions{})
		require.NoError(t, err)
		return l
	}
	const text = "time,CO\n2026-03-09 07:30,ERR\n2026-03-09 07:31,1\n"
	rows := 0
	count := func(time.Time, []float64) error { rows++; return nil }
	_, err := open(text).ReadAll(true, count)
	require.ErrorContains(t, err, `log.csv line 2, column CO: "ERR" is not a number`)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	_, err = open("time,CO\n2026-03-09 07:30,ERR\n").ReadAll(false, count)
	require.ErrorContains(t, err, `"ERR" is not a number`, "no row is left")
	full := errors.New("enough")
	_, err = open(text).ReadAll(false, func(time.Time, []float64) error { return full })
	require.ErrorIs(t, err, full)
	require.Equal(t, 3, rows)
}

// The card was pulled out while logging.
func TestLogDropsACutLine(t *testing.T) {
	t.Parallel()
	l, err := trace.OpenLog("log.csv", strings.NewReader("time,CO,dust\n2026-03-09 07:30,1,2\n2026-03-09 07:31,"), trace.LogOptions{})
	require.NoError(t, err)
	values := make([]float64, 2)
	_, err = l.Next(values)
	require.NoError(t, err)
	_, err = l.Next(values)
	require.ErrorContains(t, err, "log.csv line 3: is cut off: the file ends within this line")
	_, err = l.Next(values)
	require.ErrorIs(t, err, io.EOF)
}

func TestLogNamesWhatIsWrong(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":                                       "log.csv: is empty",
		"\xff\xfet\x00":                          "log.csv line 1: has no column beside the time",
		"time\n":                                 "log.csv line 1: has no column beside the time",
		"time,CO,co (ppm)\n":                     `log.csv line 1: has two columns "co"`,
		"time,\"CO\n":                            "log.csv line 1: opens a quote that does not close",
		"time,CO\n2026-03-09 07:30\n\n":          "log.csv line 2: has 1 cells where the header has 2",
		"time,CO\n2026-03-09 07:30,1,5\n":        "log.csv line 2: has 3 cells where the header has 2",
		"time,CO\n\n09/03/2026 07:30,1\n":        `log.csv: has dates such as "09/03/2026 07:30", in which the day or the month may come first`,
		"time,CO\n2026-02-30T07:30:00,1\n":       `log.csv line 2: "2026-02-30T07:30:00" is not a time`,
		"time,CO\n2026-03-09T07:30:60,1\n":       "is not a time",
		"time,CO\n2026-03-09 07:30,ERR\n":        `log.csv line 2, column CO: "ERR" is not a number`,
		"time;CO\n2026-03-09 07:30;1,234\n":      `has numbers such as "1,234", in which the comma may be the decimal mark or stand between thousands`,
		"2026-03-09 07:30,1\n":                   "log.csv line 1: is a row; the first line must be a header",
		"time,CO\n2026-03-09 07:30,1e999\n":      `"1e999" is not a number`,
		"time,CO\n2026-03-09 07:30,0x1p3\n":      `"0x1p3" is not a number`,
		"time,CO\n2026-03-09 07:30,.\n":          `"." is not a number`,
		"time,CO,\n2026-03-09 07:30,1,extra\n":   `log.csv line 2: has "extra" in column 3, which has no name in the header`,
		"time,CO\n" + strings.Repeat("1", 1<<21): "log.csv line 2: has more than 1048576 bytes",
	} {
		l, err := trace.OpenLog("log.csv", strings.NewReader(text), trace.LogOptions{})
		if err == nil {
			_, err = l.Next(make([]float64, len(l.Columns())))
			if bad := l.BadCells(); bad != nil {
				require.NoError(t, err)
				err = bad
			}
		}
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	_, err := trace.OpenLog("log.csv", strings.NewReader("a,b\n"), trace.LogOptions{TimeColumn: "time"})
	require.ErrorContains(t, err, `log.csv line 1: has no column "time" for the time`)
}

// Numbers are read to the last bit, whichever way is taken.
func TestLogReadsNumbersExactly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Float64()).Draw(t, "v")
		format := rapid.SampledFrom([]string{"%v", "%.3f", "%.0f", "%g"}).Draw(t, "format")
		cell := fmt.Sprintf(format, v)
		var want float64
		_, err := fmt.Sscan(cell, &want)
		require.NoError(t, err)
		l, err := trace.OpenLog("log.csv", strings.NewReader("time,CO\n2026-03-09 07:30,"+cell), trace.LogOptions{})
		require.NoError(t, err)
		values := []float64{0}
		_, err = l.Next(values)
		require.NoError(t, err)
		if math.Abs(want) > 1e100 {
			require.True(t, math.IsNaN(values[0]))
			require.ErrorContains(t, l.BadCells(), "is out of reach; accepted is a number up to 1e+100 in size")
			return
		}
		require.Equal(t, want, values[0])
	})
}

// FuzzLog holds the reading of any file to an orderly end: rows of numbers, or a fault that is the caller's to read.
func FuzzLog(f *testing.F) {
	f.Add([]byte("time,CO (ppm)\n2026-03-09T07:30:00,1.5\n2026-03-09 07:31,\n"))
	f.Add([]byte("\uFEFFtime;\"CO\";\r\n# x\r\ntime;\"CO\";\r\n2026-03-09T07:30:00.5+01:00;1e3;\r\n"))
	f.Add([]byte("time\tCO\n\"\"\t1"))
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := trace.OpenLog("log.csv", bytes.NewReader(text), trace.LogOptions{})
		for err == nil {
			values := make([]float64, len(l.Columns()))
			if _, err = l.Next(values); err != nil {
				break
			}
			for _, v := range values {
				if math.IsInf(v, 0) {
					t.Fatal("an infinite value")
				}
			}
		}
		if !errors.Is(err, io.EOF) && fault.CodeOf(err) != fault.InvalidArgument {
			t.Fatal(err)
		}
	})
}

// BenchmarkLog reads five channels and reduces them; the target is 60 MB/s.
func BenchmarkLog(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("time,a,b,c,d,e\n")
	for i := range 20_000 {
		fmt.Fprintf(&text, "%s,%.1f,%.2f,%.3f,%d,%.1f\n", morning.Add(time.Duration(i)*10*time.Second).Format(local),
			50+49*math.Sin(float64(i)), math.Exp(math.Sin(float64(i))), 0.123, i%50, 10.5)
	}
	o := trace.Options{Channels: make([]trace.Channel, 5), Coverage: trace.DefaultCoverage}
	for i := range o.Channels {
		o.Channels[i] = trace.Channel{DetectionLimit: 1, FullScale: 500}
	}
	b.SetBytes(int64(text.Len()))
	values := make([]float64, 5)
	for b.Loop() {
		l, err := trace.OpenLog("log.csv", bytes.NewReader(text.Bytes()), trace.LogOptions{})
		require.NoError(b, err)
		r, err := trace.NewReducer(o)
		require.NoError(b, err)
		for {
			at, err := l.Next(values)
			if errors.Is(err, io.EOF) {
				break
			}
			if err == nil {
				err = r.Add(at, values)
			}
			if err != nil {
				b.Fatal(err)
			}
		}
	}
}
