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
func referenceRows(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	require.NoError(t, err)
	defer f.Close()
	var rows [][]float64
	header := true
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		if header {
			header = false
			continue
		}
		var row []float64
		for _, cell := range strings.Split(s.Text(), ",") {
			v, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rows
}

func relative(got, want float64) float64 { return math.Abs(got-want) / math.Abs(want) }

func TestNoncentralTTable(t *testing.T) {
	rows := referenceRows(t, "noncentral_t_cdf.csv")
	worst, at := 0.0, []float64(nil)
	for _, r := range rows {
		d := NoncentralT{Nu: r[0], Delta: r[1]}
		e := relative(d.CDF(r[2]), r[3])
		if r[4] < r[3] {
			e = relative(d.Survival(r[2]), r[4])
		}
		if !(e <= worst) {
			worst, at = e, r
		}
	}
	t.Logf("%d rows, worst relative error of the smaller tail %.2g at %v", len(rows), worst, at)
	require.LessOrEqual(t, worst, 1e-12)
}

var sink float64

func BenchmarkNoncentralT(b *testing.B) {
	for _, c := range []struct {
		name         string
		nu, delta, t float64
	}{
		{"nu19/central", 19, 7.356, 9.5}, {"nu19/tail", 19, 7.356, 40}, {"nu19/lower", 19, 7.356, 1.5},
		{"nu99/central", 99, 16.45, 18.5}, {"nu99/tail", 99, 16.45, 35},
		{"nu1/central", 1, 2.3, 10.5}, {"nu1/edge", 1, 2000, 2100},
	} {
		b.Run(c.name, func(b *testing.B) {
			d := NoncentralT{Nu: c.nu, Delta: c.delta}
			for b.Loop() {
				sink = d.CDF(c.t)
			}
		})
	}
}
