package table_test

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// FuzzOpen holds the finding out of a format, and the rows after it, to an orderly end: every row has the width of the header or is
// refused with words, no line is lost, and the size of the parts in which a file arrives changes nothing.
func FuzzOpen(f *testing.F) {
	for _, text := range []string{
		"zone,agent,result,unit\na,b,0.12,ppm\n#c\n\na,b,<0.05,mg/m3\n",
		"Serial;7\n\ntime;CO;dust;\n13/03/2026 07:30;1,5;2;\n13/03/2026 07:31;1,6;",
		"\xff\xfea\x00;\x00b\x00\n\x001\x00;\x002\x00", "k\xfcche\tb\r1\t2\r", "a|b\n\"x\n\"\"y\"|2\n\"|\n", "\"a;b\"\n\x00\x00",
		"a;b\n1,5;2;;\n1,5;3;;\n", "a,b\na,,b", "1,5\n1,,1",
	} {
		f.Add([]byte(text), "", "")
		f.Add([]byte(text), ";", ",")
	}
	f.Fuzz(func(t *testing.T, text []byte, delimiter, mark string) {
		o := table.Options{Format: table.Format{Delimiter: delimiter, DecimalMark: mark}, Expect: []string{"zone"}}
		whole, rows := fuzzRead(t, bytes.NewReader(text), o)
		parts, same := fuzzRead(t, iotest.OneByteReader(bytes.NewReader(text)), o)
		require.Equal(t, rows, same)
		if whole == nil {
			require.Nil(t, parts)
			return
		}
		require.Equal(t, whole.Guesses(), parts.Guesses())
		require.NoError(t, whole.Format().Check())
		if plain := string(text); whole.Format().Encoding == "utf-8" && !strings.Contains(plain, `"`) && strings.Contains(plain, "\n") && whole.Notes() == nil {
			require.Equal(t, countLines(plain, whole.Format().Delimiter), whole.Rows()+1)
		}
	})
}

// fuzzRead reads a table to its end; nil when the file is refused. Rows are the cells, or what was wrong.
func fuzzRead(t *testing.T, from io.Reader, o table.Options) (*table.Reader, []string) {
	t.Helper()
	r, err := table.Open("f.csv", from, o)
	if err != nil {
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), "%v", err)
		return nil, []string{err.Error()}
	}
	var rows []string
	last := r.HeaderPlace().Line
	for {
		cells, err := r.Next()
		var bad *table.BadRow
		switch {
		case errors.Is(err, io.EOF):
			return r, rows
		case errors.As(err, &bad):
			require.NotEmpty(t, bad.Reasons)
			require.Less(t, len(err.Error()), 1000, "%q", err.Error())
			rows = append(rows, err.Error())
		case fault.CodeOf(err) == fault.InvalidArgument: // Another header.
			require.ErrorContains(t, err, "names the columns otherwise")
			rows = append(rows, err.Error())
		default:
			require.NoError(t, err)
			require.Len(t, cells, len(r.Header()))
			rows = append(rows, string(bytes.Join(cells, []byte("\x1f"))))
		}
		require.Greater(t, r.Place().Line, last)
		last = r.Place().Line
	}
}

// countLines counts the lines that hold more than delimiters and spaces and are no comments.
func countLines(text, delimiter string) (n int64) {
	for line := range strings.SplitSeq(strings.TrimPrefix(text, "\xef\xbb\xbf"), "\n") {
		line = strings.TrimRight(line, " \r")
		if !strings.HasPrefix(line, "#") && strings.TrimSpace(strings.ReplaceAll(line, delimiter, "")) != "" {
			n++
		}
	}
	return n
}
