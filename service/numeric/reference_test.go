package numeric

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// referenceRows reads a table of testdata/reference: comment lines start with #,
// the first other line names the columns.
func referenceRows(tb testing.TB, name string) [][]float64 {
	tb.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	require.NoError(tb, err)
	defer f.Close()
	var rows [][]float64
	header := true
	s := bufio.NewScanner(f)
	for s.Scan() {
		switch {
		case strings.HasPrefix(s.Text(), "#"):
		case header:
			header = false
		default:
			rows = append(rows, parseRow(tb, s.Text()))
		}
	}
	require.NoError(tb, s.Err())
	return rows
}

func parseRow(tb testing.TB, line string) []float64 {
	tb.Helper()
	var row []float64
	for cell := range strings.SplitSeq(line, ",") {
		v, err := strconv.ParseFloat(cell, 64)
		require.NoError(tb, err)
		row = append(row, v)
	}
	return row
}

// worstOf remembers the largest of the values it is shown and where it was. A NaN
// counts as the largest of all.
type worstOf struct {
	value float64
	at    []float64
}

func (w *worstOf) see(value float64, at ...float64) {
	if !(value <= w.value) && w.value == w.value {
		w.value, w.at = value, at
	}
}

// relative is the relative error of got.
func relative(got, want float64) float64 {
	if got == want {
		return 0
	}
	return math.Abs(got-want) / math.Abs(want)
}

// sink keeps the compiler from dropping a benchmarked call.
var sink float64
