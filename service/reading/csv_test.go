package reading

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
)

// readAll reads a table to its end and returns the rows that were right and the texts of the faults.
func readAll(t *testing.T, text string) (rows []Row, faults, notes []string) {
	t.Helper()
	c, err := NewCSV("t.csv", strings.NewReader(text), Source{})
	if err != nil {
		return nil, texts(t, err), nil
	}
	for {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return rows, faults, c.Notes()
		}
		if err != nil {
			faults = append(faults, texts(t, err)...)
			continue
		}
		rows = append(rows, row)
	}
}

// texts writes each violation of a fault as the reader sees it.
func texts(t *testing.T, err error) []string {
	t.Helper()
	var f *fault.Error
	require.ErrorAs(t, err, &f)
	require.Equal(t, fault.InvalidArgument, f.Code)
	var out []string
	for _, v := range f.Violations {
		out = append(out, v.Field+": "+v.Text)
	}
	return out
}

func TestCSVReadsEveryColumn(t *testing.T) {
	t.Parallel()
	rows, faults, notes := readAll(t, "\uFEFF# An invented table.\r\n"+
		"Minutes, RESULT ,unit,id,zone,agent,limit,subject,campaign,start\r\n"+
		"480,0.12,mg/m3,A-1,kiln room,quartz,0.5,P7,spring,2026-03-09T07:30:00+01:00\r\n"+
		"\r\n"+
		"# A remark.\r\n"+
		"30.5,< 0.05 ,mg/m3,A-2,\"kiln\nroom\",quartz,500 µg/m3,,,2026-03-09 07:30\r\n"+
		",>50,mg/m3,,kiln room,quartz,,,,2026-03-09\r\n"+
		",0.05..0.12,mg/m3,,kiln room,quartz,,,,\r\n"+
		",,,,,,,,,\r\n")
	require.Empty(t, faults)
	require.Empty(t, notes)
	at := func(line int) Place { return Place{File: "t.csv", Line: line} }
	zone := func(r Reading) Reading { r.Zone = "kiln room"; return r }
	first := zone(At(0.12))
	first.Subject, first.Campaign, first.ID, first.Duration = "P7", "spring", "A-1", 8*time.Hour
	require.True(t, rows[0].Reading.Start.Equal(time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)))
	first.Start = rows[0].Reading.Start
	second := Under(0.05)
	second.Zone, second.ID, second.Duration = "kiln\nroom", "A-2", 30*time.Minute+30*time.Second
	second.Start = time.Date(2026, 3, 9, 7, 30, 0, 0, time.UTC)
	third := zone(Over(50))
	third.Start = time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	require.Equal(t, []Row{
		{at(3), "quartz", "mg/m3", first, &Limit{0.5, "mg/m3"}},
		{at(6), "quartz", "mg/m3", second, &Limit{500, "µg/m3"}},
		{at(8), "quartz", "mg/m3", third, nil},
		{at(9), "quartz", "mg/m3", zone(Within(0.05, 0.12)), nil},
	}, rows)
}

func TestCSVNamesWhatIsWrong(t *testing.T) {
	t.Parallel()
	const head = "zone,agent,result,unit\n"
	cases := []struct{ name, text, want string }{
		{"empty", "", "t.csv: is empty; the first line names the columns, of which zone, agent, result and unit are required"},
		{"only comments", "# nothing\n\n", "t.csv: is empty; the first line names"},
		{"missing column", "zone,agent,value,units\n", "t.csv line 1: the header has no result and unit; required are zone, agent, " +
			"result and unit; it has the unknown value and units"},
		{"column twice", "zone,agent,result,unit,Result\n", "t.csv line 1, column result: stands twice, as columns 3 and 5"},
		{"decimal comma among points", head + "a,b,0.5,ppm\na,b,\"0,12\",ppm\n", `t.csv line 3, column result: "0,12" has a comma; a number is written with a decimal point`},
		{"decimal point among commas", "zone;agent;result;unit\na;b;0,5;ppm\na;b;0,7;ppm\na;b;0.12;ppm\n", `t.csv line 4, column result: "0.12" has a point; the numbers of this file have a decimal comma`},
		{"thousands", head + "a,b,\"1,234\",ppm\n", `t.csv: has numbers such as "1,234", in which the comma may be the decimal mark or stand between thousands`},
		{"decimal comma", head + "a,b,0,12,ppm\n", "t.csv line 2: has 5 cells where the header has 4; a number with a decimal comma, or"},
		{"short row", head + "a,b,1\n", "t.csv line 2: has 3 cells where the header has 4"},
		{"no result", head + "a,b,,ppm\n", "t.csv line 2, column result: is empty; accepted are a value (0.12)"},
		{"no agent", head + "a, ,1,ppm\n", "t.csv line 2, column agent: is empty"},
		{"no unit", head + "a,b,1,\n", "t.csv line 2, column unit: is empty"},
		{"zero", head + "a,b,0,ppm\n", `t.csv line 2, column result: "0": is 0; a result that was not detected is stated as below its reporting limit`},
		{"negative", head + "a,b,-1,ppm\n", `t.csv line 2, column result: "-1": is -1; accepted is a finite number greater than 0`},
		{"stray quote", head + "a,b,1\",ppm\n", `t.csv line 2: has a stray " at character 6`},
		{"open quote", head + "\"a,b,1,ppm\na,b,1,ppm\n", "t.csv line 2: opens a quote that does not close"},
		{"text without a column name", "zone,agent,result,unit,\na,b,1,ppm,dusty\n", `t.csv line 2: has "dusty" in column 5, which has no name in the header`},
		{"another encoding behind the sample", head + strings.Repeat("\n", 1<<16) + "a,b,1,\xb5g/m3\n", `t.csv line 65538: holds "\xb5g/m3" in column 4, which is not utf-8 text`},
		{"half a character", "\xff\xfez\x00o\x00\n", `t.csv line 1: holds a character that utf-16le does not have`},
		{"start", "zone,agent,result,unit,start\na,b,1,ppm,09.03.2026\n", `t.csv: has dates such as "09.03.2026", in which the day or the month may come first`},
		{"no start", "zone,agent,result,unit,start\na,b,1,ppm,tomorrow\n", `t.csv line 2, column start: "tomorrow" is not a time; accepted are 2026-03-09,`},
		{"minutes", "zone,agent,result,unit,minutes\na,b,1,ppm,0\n", `t.csv line 2, column minutes: "0" is not a length of time; accepted is a number of minutes`},
		{"minutes too long", "zone,agent,result,unit,minutes\na,b,1,ppm,1e12\n", `t.csv line 2, column minutes: "1e12" is not a length`},
		{"minutes comma", "zone,agent,result,unit,minutes\na,b,1.5,ppm,\"7,5\"\n", `t.csv line 2, column minutes: "7,5" has a comma`},
		{"limit", "zone,agent,result,unit,limit\na,b,1,ppm,none\n", `t.csv line 2, column limit: "none" is not a limit; accepted is a number with its unit`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, faults, _ := readAll(t, c.text)
			require.Len(t, faults, 1)
			require.True(t, strings.HasPrefix(faults[0], c.want), "got  %s\nwant %s", faults[0], c.want)
		})
	}
}

func TestCSVGoesOnBehindABadRow(t *testing.T) {
	t.Parallel()
	rows, faults, _ := readAll(t, "zone,agent,result,unit,minutes\n"+
		"a,b,1,ppm,5\n"+"a,b,ND,,x\n"+"a,b,\"2\"3,ppm,5\n"+"a,b,4,ppm,5\n")
	require.Len(t, rows, 2)
	require.Equal(t, 5, rows[1].Line)
	require.Len(t, faults, 4)
	for i, start := range []string{"line 3, column unit", "line 3, column result", "line 3, column minutes", "line 4"} {
		require.True(t, strings.HasPrefix(faults[i], "t.csv "+start), faults[i])
	}
}

func TestCSVNotes(t *testing.T) {
	t.Parallel()
	rows, faults, notes := readAll(t, "# a, b, c, d, e\nzone,agent,result,unit,remark,Weather\n"+
		"#1 press,b,1,ppm,,\n"+"# a plain comment, with one comma\n"+"\"#1 press\",b,1,ppm,dusty,wet\n")
	require.Empty(t, faults)
	require.Len(t, rows, 1)
	require.Equal(t, "#1 press", rows[0].Reading.Zone)
	require.Equal(t, []string{
		"t.csv: not read: column remark and Weather; known are zone, agent, result, unit, limit, subject, campaign, start, minutes and id",
		"t.csv line 3: begins with # and was skipped as a comment, though it looks like a row; put its first cell in quotes to have it read",
	}, notes)
}

// Lines longer than the buffer go through the same filter, comments included.
func TestCSVLongLines(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("x", 200_000)
	rows, faults, _ := readAll(t, "#"+long+"\nzone,agent,result,unit\n"+long+",b,1,ppm\n#"+long+"\n\"a\n#"+long+"\",b,2,ppm\n#"+long)
	require.Empty(t, faults)
	require.Len(t, rows, 2)
	require.Equal(t, long, rows[0].Reading.Zone)
	require.Equal(t, "a\n#"+long, rows[1].Reading.Zone)
	require.Equal(t, []int{3, 5}, []int{rows[0].Line, rows[1].Line})
}

func TestCSVReportsAFailingReader(t *testing.T) {
	t.Parallel()
	broken := errors.New("the disk is gone")
	_, err := NewCSV("t.csv", iotest.ErrReader(broken), Source{})
	require.ErrorIs(t, err, broken)
	c, err := NewCSV("t.csv", io.MultiReader(strings.NewReader("zone,agent,result,unit\n"), iotest.ErrReader(broken)), Source{})
	require.NoError(t, err)
	_, err = c.Read()
	require.ErrorIs(t, err, broken)
	require.Equal(t, fault.Internal, fault.CodeOf(err))
}

func TestProblemsAreCapped(t *testing.T) {
	t.Parallel()
	var p Problems
	require.NoError(t, p.Err())
	for i := range 50 {
		p.Add(Place{File: "t.csv", Line: i + 2}.Fault("result", "is empty"))
	}
	got := texts(t, p.Err())
	require.Len(t, got, shownProblems+1)
	require.Equal(t, ": and 30 more", got[shownProblems])
}

// FuzzCSV checks that a table without quotes never loses a line: each line is the header, a comment, blank, a row or a fault.
func FuzzCSV(f *testing.F) {
	f.Add("zone,agent,result,unit\na,b,0.12,ppm\n#c\n\na,b,<0.05,mg/m3\n")
	f.Add("\uFEFF#\r\nunit,result,agent,zone,minutes,start,limit\r\nppm,1..2,b,a,480,2026-03-09,1ppm\r\n")
	f.Add("zone,agent,result,unit\n\"a\n#\",b,>5,ppm\n\"")
	f.Add("unit,result,Agent,Zone\n\f ")
	f.Add("unit,result,Agent,Zone,,+\xf2,,,,\x80\r0")
	f.Add("unit;result;Agent;Zone;\nppm;0,12;a;b;\nppm;0,13;a;b;")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := NewCSV("f.csv", iotest.OneByteReader(strings.NewReader(text)), Source{})
		if err != nil {
			return
		}
		answered, last := 0, 0
		for {
			row, err := c.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			answered++
			if err != nil {
				require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), "%v", err)
				continue
			}
			require.NoError(t, row.Reading.Check())
			require.NotEmpty(t, row.Agent)
			require.NotEmpty(t, row.Unit)
			require.Greater(t, row.Line, last)
			last = row.Line
		}
		u := c.Understood()
		require.EqualValues(t, u.Rows, answered)
		passedOver := strings.Contains(fmt.Sprint(c.Notes()), "skipped") || strings.Contains(fmt.Sprint(c.Notes()), "repeated")
		if u.Encoding == "utf-8" && u.Delimiter == "," && strings.Contains(text, "\n") && !strings.Contains(text, `"`) && !passedOver {
			require.Equal(t, countRows(text), answered)
		}
	})
}

// countRows counts the lines behind the header that hold more than commas and white space and are no comments.
func countRows(text string) int {
	rows := -1
	scanner := bufio.NewScanner(strings.NewReader(strings.TrimPrefix(text, "\uFEFF")))
	scanner.Buffer(nil, 1<<30)
	for scanner.Scan() {
		line := scanner.Text()
		if !strings.HasPrefix(line, "#") && strings.TrimSpace(strings.ReplaceAll(line, ",", "")) != "" {
			rows++
		}
	}
	return rows
}

func FuzzParseResult(f *testing.F) {
	for _, s := range []string{"0.12", "<0.05", "> 50", "0.05..0.12", "1e-3", "0,12", "..", "<", "1...2", "-1", "0x1p-2", "inf", "NaN"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := ParseResult(s)
		if err != nil {
			require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
			require.NotEmpty(t, err.Error())
			return
		}
		require.NoError(t, r.Check())
		again, err := ParseResult(written(r))
		require.NoError(t, err)
		require.Equal(t, r, again)
	})
}

// written writes a reading as ParseResult reads it.
func written(r Reading) string {
	switch r.Kind {
	case Below:
		return fmt.Sprint("<", r.Upper)
	case Above:
		return fmt.Sprint(">", r.Lower)
	case Between:
		return fmt.Sprint(r.Lower, "..", r.Upper)
	default:
		return fmt.Sprint(r.Lower)
	}
}

func BenchmarkCSV(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("zone,agent,result,unit,limit,subject,start,minutes\n")
	const rows = 10_000
	for i := range rows {
		fmt.Fprintf(&text, "zone %d,agent %d,%v,mg/m3,0.5,P%d,2026-03-09 07:30,480\n", i%40, i%7, 0.01+float64(i%997)/1000, i%30)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		g := NewGrouping(DefaultKeys)
		if err := g.ReadCSV("b.csv", bytes.NewReader(text.Bytes())); err != nil {
			b.Fatal(err)
		}
		if _, err := g.Groups(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// A file of prose is refused without being quoted whole.
func TestProseIsNoHeader(t *testing.T) {
	t.Parallel()
	_, err := NewCSV("letter.txt", strings.NewReader("Dear colleague these are the notes from the workshop that you asked for last week, with my regards\n"), Source{})
	require.ErrorContains(t, err, "the header has no zone, agent, result and unit")
	require.NotContains(t, err.Error(), "workshop")
}
