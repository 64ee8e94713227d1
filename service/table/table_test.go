package table_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	_ "time/tzdata" // The zones of the tests, on any machine.

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// read reads a table to its end: the rows with their cells joined by |, trimmed, and what was wrong with the others.
func read(t *testing.T, text string, o table.Options) (r *table.Reader, rows, wrong []string) {
	t.Helper()
	r, err := table.Open("t.csv", strings.NewReader(text), o)
	require.NoError(t, err)
	for {
		cells, err := r.Next()
		var bad *table.BadRow
		switch {
		case errors.Is(err, io.EOF):
			return r, rows, wrong
		case errors.As(err, &bad):
			require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
			wrong = append(wrong, err.Error())
		default:
			require.NoError(t, err)
			texts := make([]string, len(cells))
			for i, cell := range cells {
				texts[i] = strings.TrimSpace(string(cell))
			}
			rows = append(rows, strings.Join(texts, "|"))
		}
	}
}

// refused is the text of the fault with which a file is refused.
func refused(t *testing.T, text string, o table.Options) string {
	t.Helper()
	_, err := table.Open("t.csv", strings.NewReader(text), o)
	require.Error(t, err)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), "%v", err)
	return err.Error()
}

// unusual are the guesses that a reader must be told.
func unusual(r *table.Reader) (texts []string) {
	for _, g := range r.Guesses() {
		if !g.Usual {
			texts = append(texts, g.Text)
		}
	}
	return texts
}

func TestEncodings(t *testing.T) {
	t.Parallel()
	const plain = "zone,unit\nFräserei,µg/m³\nKüche,ppm\n"
	encode := func(e *encoding.Encoder) string {
		text, err := e.String(plain)
		require.NoError(t, err)
		return text
	}
	little := encode(unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewEncoder())
	big := encode(unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder())
	for name, c := range map[string]struct{ text, stated, encoding, guess string }{
		"utf-8":             {text: plain, encoding: "utf-8"},
		"utf-8, marked":     {text: "\xef\xbb\xbf" + plain, encoding: "utf-8"},
		"little, marked":    {text: "\xff\xfe" + little, encoding: "utf-16le", guess: "by the mark at its beginning"},
		"big, marked":       {text: "\xfe\xff" + big, encoding: "utf-16be", guess: "by the mark at its beginning"},
		"little":            {text: little, encoding: "utf-16le", guess: "every second byte is zero"},
		"big":               {text: big, encoding: "utf-16be", guess: "from the first, is zero"},
		"stated and marked": {text: "\xff\xfe" + little, stated: "utf-16le", encoding: "utf-16le"},
		"windows": {
			text: encode(charmap.Windows1252.NewEncoder()), encoding: "windows-1252",
			guess: "The text is not utf-8 and was read as windows-1252, which is a guess; look at its letters, or state the encoding.",
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, rows, wrong := read(t, c.text, table.Options{Format: table.Format{Encoding: c.stated}, Expect: []string{"zone"}})
			require.Empty(t, wrong)
			require.Equal(t, []string{"zone", "unit"}, r.Header())
			require.Equal(t, []string{"Fräserei|µg/m³", "Küche|ppm"}, rows)
			require.Equal(t, c.encoding, r.Format().Encoding)
			if c.guess == "" {
				require.Empty(t, unusual(r))
			} else {
				require.Len(t, unusual(r), 1)
				require.Contains(t, unusual(r)[0], c.guess)
			}
		})
	}
}

// What was not encoded as stated loses rows, and never reads as something else.
func TestWrongEncoding(t *testing.T) {
	t.Parallel()
	_, rows, wrong := read(t, "zone,unit\nk\x81che,ppm\nk,ppm\n", table.Options{Format: table.Format{Encoding: "windows-1252"}})
	require.Equal(t, []string{"k|ppm"}, rows)
	require.Equal(t, []string{"t.csv line 2: holds a character that windows-1252 does not have"}, wrong)
}

func TestLayouts(t *testing.T) {
	t.Parallel()
	results := table.Options{Expect: []string{"zone", "agent", "result", "unit"}}
	for name, c := range map[string]struct {
		text            string
		o               table.Options
		delimiter, mark string
		rows            []string
		guesses         []string
	}{
		"plain":          {"zone,result\nk,0.5\n", results, ",", ".", []string{"k|0.5"}, nil},
		"no decimals":    {"zone,result\nk,5\n", results, ",", ".", []string{"k|5"}, nil},
		"quoted commas":  {"zone,result\nk,\"0,12\"\nk,\"1,5\"\n", results, ",", ",", []string{"k|0,12", "k|1,5"}, []string{`Numbers have a decimal comma: the first rows have 2 such as "0,12".`}},
		"between commas": {"zone;result\nk;0,05..0,12\n", results, ";", ",", []string{"k|0,05..0,12"}, []string{"separated by semicolons", `2 such as "0,05"`}},
		"tab":            {"zone\tresult\nk\t0.5\n", results, "\t", ".", []string{"k|0.5"}, []string{"The cells are separated by tabs: the header has 2, and so has the line after it."}},
		"bar":            {"zone|result\nk|0.5\n", results, "|", ".", []string{"k/0.5"}, []string{"vertical bars"}},
		"comma in the header": {
			"zone;result (8 h, mean);unit\nk;0,12;mg/m3\nl;0,13;mg/m3\n",
			table.Options{Expect: []string{"zone", "unit"}},
			";", ",",
			[]string{"k|0,12|mg/m3", "l|0,13|mg/m3"},
			[]string{"separated by semicolons: the header has 3", "decimal comma"},
		},
		"either": {
			"a,b;c\n1,2;3\n4,5;6\n",
			table.Options{},
			",", ".",
			[]string{"1|2;3", "4|5;6"},
			[]string{"this is not certain, for semicolons would divide 2 of them into 2 cells"},
		},
		"mostly commas": {
			"zone;result\nk;0,12\nk;0,13\nk;0.14\n", results, ";", ",",
			[]string{"k|0,12", "k|0,13", "k|0.14"},
			[]string{"semicolons", `this is not certain, for they also have 1 such as "0.14", which cannot be read so`},
		},
		"points in groups of three": {"zone,result\nk,1.234\n", results, ",", ".", []string{"k|1.234"}, nil},
		"points between more thousands": {
			"zone;result\nk;1.234.567\nk;1.234\n", results, ";", ",",
			[]string{"k|1.234.567", "k|1.234"},
			[]string{"semicolons", "Numbers have a decimal comma: the first rows have points between thousands."},
		},
		"commas before exponents": {
			"zone;result\nk;1,5e-3\nk;2,25E+2\n", results, ";", ",", []string{"k|1,5e-3", "k|2,25E+2"}, []string{"semicolons", `such as "1,5"`},
		},
		"points between thousands": {
			"zone;result\nk;1.234\nk;0,5\n", results, ";", ",",
			[]string{"k|1.234", "k|0,5"},
			[]string{"semicolons", `decimal comma: the first rows have 1 such as "0,5"; this is not certain, for they also have 1 such as "1.234", which cannot be read so`},
		},
		"empty line between the titles": {"Campaign;;\n;;\n , ;\nzone;result;unit\nk;1;ppm\n", results, ";", ".", []string{"k|1|ppm"}, []string{"semicolons"}},
		"titles": {
			"Campaign of spring\nmade by hand;;\nzone;result;unit\nk;1;ppm\n", results, ";", ".", []string{"k|1|ppm"}, []string{"semicolons"},
		},
		"empty columns behind": {
			"zone;result\nk;1;;\nl;2;;\n", results, ";", ".", []string{"k|1", "l|2"}, []string{"semicolons", "Every row ends in empty cells without a column"},
		},
		"points between thousands and a comma": {
			"zone;result\nk;1.250,5\n", results, ";", ",", []string{"k|1.250,5"}, []string{"semicolons", `decimal comma: the first rows have 1 such as "1.250,5"`},
		},
		"titles as wide as the rows": {
			"Logger 5,,\nRead out,3/20/2026 8:00 AM,\nDate,Time,\"CO, ppm\"\n,,ppm\n3/9/2026,11:59:00 PM,1.5\n3/10/2026,12:00:00 AM,2.5\n",
			table.Options{},
			",", ".",
			[]string{"||ppm", "3/9/2026|11:59:00 PM|1.5", "3/10/2026|12:00:00 AM|2.5"},
			nil,
		},
		"log with titles": {
			"Instrument;7\nStart;2026-03-09 07:00\n\ntime;CO;dust\n2026-03-09 07:30;1,5;2\n2026-03-09 07:31;1,6;2\n",
			table.Options{},
			";", ",",
			[]string{"2026-03-09 07:30|1,5|2", "2026-03-09 07:31|1,6|2"},
			[]string{"semicolons: the header has 3", "decimal comma"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, rows, wrong := read(t, c.text, c.o)
			require.Empty(t, wrong)
			if c.delimiter == "|" {
				rows = []string{strings.Join(strings.Split(rows[0], "|"), "/")}
			}
			require.Equal(t, c.rows, rows)
			require.Equal(t, c.delimiter, r.Format().Delimiter)
			require.Equal(t, c.mark, r.Format().DecimalMark)
			require.Len(t, unusual(r), len(c.guesses), "%q", unusual(r))
			for i, want := range c.guesses {
				require.Contains(t, unusual(r)[i], want)
			}
		})
	}
}

// The same file is read otherwise when it is stated how it is written.
func TestStatedFormat(t *testing.T) {
	t.Parallel()
	r, rows, _ := read(t, "zone;result\nk;1,234\n", table.Options{Format: table.Format{Delimiter: ";", DecimalMark: ","}})
	require.Equal(t, []string{"k|1,234"}, rows)
	require.Empty(t, unusual(r))
	v, ok := table.ParseNumber([]byte("1,234"), r.Mark())
	require.True(t, ok)
	require.Equal(t, 1.234, v)
	_, ok = table.ParseNumber([]byte("1.234"), r.Mark())
	require.False(t, ok)
	_, ok = table.ParseNumber([]byte("1.234,5"), r.Mark())
	require.False(t, ok)
}

func TestRefusedFiles(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":                                 "t.csv: is empty; the first line names the columns",
		"\xff\xfe":                         "t.csv: is empty",
		"PK\x03\x04\x14\x00":               "t.csv: is a workbook or another archive and no text; save its table as CSV",
		"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": "t.csv: is a workbook and no text",
		"\x1f\x8b\x08":                     "t.csv: is a compressed file and no text",
		"%PDF-1.7\n":                       "t.csv: is a document for print and no text",
		"zone;result\nk;1,234\n":           `t.csv: has numbers such as "1,234", in which the comma may be the decimal mark or stand between thousands; state the decimal mark`,
		"zone,result\nk,\"12,345\"\n":      `has numbers such as "12,345"`,
		"zone;result\nk;1.234\n":           `t.csv: has numbers such as "1.234", in which the point may be the decimal mark or stand between thousands`,
		"zone\tresult\nk\t1.234\n":         `t.csv: has numbers such as "1.234", in which the point may be the decimal mark or stand between thousands`,
		"zone;result\n" + strings.Repeat("k;900\n", 20_000) + "k;1.234\n": `t.csv: has numbers such as "1.234", in which the point may be`,
		"2026-03-09,1\n2026-03-09,1,2\n2026-03-09,1,2\n":                  "t.csv line 1: is a row; the first line must be a header",
		"2026-03-09 07:30;1\n":                  "t.csv line 1: is a row; the first line must be a header that names the columns",
		"zone,\"result\nk,1\n":                  "t.csv line 1: opens a quote that does not close",
		"zone,re\x00sult\nk,1\n":                `t.csv line 1: holds "re\x00sult" in column 2, which is not utf-8 text`,
		"zone," + strings.Repeat("x", 3<<20):    "t.csv line 1: has more than 1048576 bytes",
		strings.Repeat(" ", 3<<20) + "\nzone,a": "t.csv line 1: has more than 1048576 bytes",
	} {
		require.Contains(t, refused(t, text, table.Options{Expect: []string{"zone"}}), want)
	}
	for f, want := range map[table.Format]string{
		{Encoding: "ascii"}:     `encoding: "ascii" is not known; accepted are utf-8, utf-16le, utf-16be and windows-1252`,
		{Delimiter: ":"}:        `delimiter: ":" is not known; accepted are a comma, a semicolon, a vertical bar and a tab`,
		{DecimalMark: "'"}:      `decimalMark: "'" is not known; accepted are . and ,`,
		{DateOrder: "ydm"}:      `dateOrder: "ydm" is not known`,
		{TimeZone: "Mars/Base"}: `timeZone: "Mars/Base" is not known; accepted are an offset such as +01:00 and a name such as Europe/Paris`,
		{TimeZone: "Local"}:     `timeZone: "Local" is not known`,
	} {
		require.Contains(t, refused(t, "a,b\n", table.Options{Format: f}), want)
	}
}

// Each bad row is named, and none of them keeps the others from being read.
func TestBadRows(t *testing.T) {
	t.Parallel()
	r, rows, wrong := read(t, "zone,result,\n"+
		"a,1,\n"+
		"b,1\n"+
		"\"open,2,\n"+
		"c,3,\n"+
		"d,4,,\n"+
		"e,5,extra\n"+
		"f\x00,6,\n"+
		strings.Repeat("x", 2<<20)+",7,\n"+
		"zone,result,\n"+
		"\"two\r\nlines\",8,\r\n"+
		" , , \n"+
		"g \"x\",9,\n"+
		"h,10,\n"+
		"i,1", table.Options{Expect: []string{"zone"}})
	require.Equal(t, []string{"a|1|", "b|1|", "c|3|", "two\nlines|8|", "h|10|"}, rows)
	require.Equal(t, []string{
		`t.csv line 4: opens a quote that does not close; a quote that belongs to a text stands in quotes and is written twice`,
		`t.csv line 6: has 4 cells where the header has 3; a number with a decimal comma, or a delimiter in a text without quotes, makes one too many`,
		`t.csv line 7: has "extra" in column 3, which has no name in the header`,
		`t.csv line 8: holds NUL bytes, as when an instrument lost its power while writing`,
		`t.csv line 9: has more than 1048576 bytes`,
		`t.csv line 14: has a stray " at character 3; a text that holds a quote stands in quotes and writes it twice`,
		`t.csv line 16: is cut off: the file ends within this line, as when a card is pulled out while logging`,
	}, wrong)
	require.Equal(t, []string{"t.csv: the header is repeated on 1 line, which was passed over"}, r.Notes())
	require.EqualValues(t, 12, r.Rows())
}

// A row that a decimal comma divides must never pass for one with an empty cell too many.
func TestDividedNumbers(t *testing.T) {
	t.Parallel()
	_, rows, wrong := read(t, "zone,result,unit,remark\nk,1,5,ppm,\nk,1,7,ppm,\n", table.Options{Expect: []string{"zone"}})
	require.Empty(t, rows)
	require.Len(t, wrong, 2)
}

func TestRejectedAreCapped(t *testing.T) {
	t.Parallel()
	var all, more table.Rejected
	require.NoError(t, all.Err())
	require.Empty(t, all.Text(5))
	for i := range 150 {
		all.Add(table.Place{File: "t.csv", Line: i + 2}.Bad("result", "is empty"))
	}
	require.Len(t, all.First, 100)
	require.EqualValues(t, 150, all.Rows)
	require.EqualValues(t, 50, all.More())
	require.ErrorContains(t, all.Err(), "t.csv line 21, column result: is empty; : and 130 more")
	more.Add(table.Place{File: "u.csv", Line: 2}.Bad("", "is bad"))
	require.Equal(t, "1 of 9 rows was rejected and left out.", more.Text(9))
	more.Merge(&all)
	require.Len(t, more.First, 100)
	require.EqualValues(t, 151, more.Rows)
	require.EqualValues(t, 51, more.More())
	require.Equal(t, "u.csv line 2: is bad", more.First[0].String())
}

func TestFailuresPass(t *testing.T) {
	t.Parallel()
	broken := errors.New("the disk is gone")
	_, err := table.Open("t.csv", iotest.ErrReader(broken), table.Options{})
	require.ErrorIs(t, err, broken)
	r, err := table.Open("t.csv", io.MultiReader(strings.NewReader("a,b\n1,2\n3"), iotest.ErrReader(broken)), table.Options{})
	require.NoError(t, err)
	_, err = r.Next()
	require.NoError(t, err)
	_, err = r.Next()
	require.ErrorIs(t, err, broken, "half a line before a failure is no row")
}

// endless makes rows without end.
type endless struct{ header, row, rest []byte }

func (e *endless) Read(p []byte) (int, error) {
	if len(e.rest) == 0 {
		e.rest = e.row
		if e.header != nil {
			e.rest, e.header = e.header, nil
		}
	}
	n := copy(p, e.rest)
	e.rest = e.rest[n:]
	return n, nil
}

// A file of any length takes the same memory.
func TestMemoryIsFlat(t *testing.T) {
	const bytesRead = 64 << 20
	row := bytes.Repeat([]byte("2026-03-09 07:30:00,1.5,0.25,120\n"), 100)
	r, err := table.Open("t.csv", io.LimitReader(&endless{header: []byte("time,a,b,c\n"), row: row}, bytesRead), table.Options{})
	require.NoError(t, err)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for {
		if _, err = r.Next(); err != nil {
			break
		}
	}
	require.ErrorContains(t, err, "is cut off")
	runtime.ReadMemStats(&after)
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20), "64 MB read")
	require.Greater(t, r.Rows(), int64(1_900_000))
}

func ExampleOpen() {
	text := "Raum;Ergebnis\nHalle;0,12\nHalle;0,15\n"
	r, err := table.Open("halle.csv", strings.NewReader(text), table.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, guess := range r.Guesses() {
		fmt.Println(guess.Text)
	}
	// Output:
	// The text was read as utf-8, for its bytes are valid as such.
	// The cells are separated by semicolons: the header has 2, and so have 2 of the first 2 lines after it.
	// Numbers have a decimal comma: the first rows have 2 such as "0,12".
}

func BenchmarkNext(b *testing.B) {
	var text strings.Builder
	text.WriteString("time;a;b;c;d;e\n")
	for i := range 20_000 {
		fmt.Fprintf(&text, "2026-03-09 07:30:00;%d,%d;%d;0,123;%d;10,5\n", i%100, i%10, i%7, i%50)
	}
	quoted := "time;a;b;c;d;e\n" + strings.ReplaceAll(text.String()[len("time;a;b;c;d;e\n"):], ";", `;"`)
	quoted = strings.ReplaceAll(strings.ReplaceAll(quoted, `;"`, `";"`), "\n20", "\n\"20")
	quoted = strings.ReplaceAll(strings.TrimSuffix(quoted, "\n"), "\n\"", "\"\n\"")
	quoted = strings.Replace(quoted, "e\"\n", "e\n", 1) + "\"\n"
	wide, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text.String())
	require.NoError(b, err)
	for name, content := range map[string]string{"utf-8": text.String(), "quoted": quoted, "utf-16": wide, "windows-1252": text.String() + "# \xb5\n"} {
		b.Run(name, func(b *testing.B) {
			o := table.Options{}
			if name == "windows-1252" {
				o.Encoding = name
			}
			b.SetBytes(int64(len(content)))
			b.ReportAllocs()
			for b.Loop() {
				r, err := table.Open("t.csv", strings.NewReader(content), o)
				require.NoError(b, err)
				for err == nil {
					_, err = r.Next()
				}
				require.ErrorIs(b, err, io.EOF)
				require.EqualValues(b, 20_000, r.Rows())
			}
		})
	}
}
