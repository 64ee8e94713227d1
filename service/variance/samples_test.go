package variance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

func zoneOf(r reading.Reading) string { return r.Zone }

// sheet turns rows of values into readings of zones A, B, C, ...
func sheet(rows ...[]float64) []reading.Reading {
	var out []reading.Reading
	for i, row := range rows {
		for _, v := range row {
			r := reading.At(v)
			r.Zone = string(rune('A' + i))
			out = append(out, r)
		}
	}
	return out
}

// exponentials turns rows of logs, each divided by scale, into readings.
func exponentials(scale float64, rows ...[]float64) []reading.Reading {
	for _, row := range rows {
		for j := range row {
			row[j] = math.Exp(row[j] / scale)
		}
	}
	return sheet(rows...)
}

// iron is iron in ppm of 6 wells: USEPA Unified Guidance 2009, example 13-2, read through published.md section 7.
func iron() []reading.Reading {
	return sheet([]float64{57.97, 54.05, 29.96, 46.06}, []float64{46.06, 76.71, 32.14, 68.03}, []float64{100.48, 170.72, 39.25, 52.98},
		[]float64{34.12, 93.69, 70.81, 83.10}, []float64{60.95, 72.97, 244.69, 202.35}, []float64{83.10, 183.09, 198.34, 160.77})
}

// campaigns are the invented campaigns of varcomp_data.csv by id, and iron.
func campaigns(tb testing.TB) map[string][]reading.Reading {
	tb.Helper()
	out := map[string][]reading.Reading{"iron": iron()}
	for _, row := range reference.Rows(tb, "varcomp_data.csv") {
		r := reading.At(row.Float(tb, "x"))
		r.Zone = row["worker"]
		out[row["id"]] = append(out[row["id"]], r)
	}
	return out
}

// censoredGroups are the invented groups of variance_censored_samples.csv.
func censoredGroups(tb testing.TB) map[string][]reading.Reading {
	tb.Helper()
	out := map[string][]reading.Reading{}
	for _, row := range reference.Rows(tb, "variance_censored_samples.csv") {
		r, err := reading.ParseResult(row["result"])
		require.NoError(tb, err)
		r.Zone = row["zone"]
		out[row["group"]] = append(out[row["group"]], r)
	}
	return out
}

// truth is a group to draw from, its total variance being 1 and mu 0.
type truth struct {
	zones, readings int
	share           float64
	// below is the fraction under the reporting limit.
	below float64
	// equal asks for equally many readings in each zone; otherwise they are 1 to 2 readings-1.
	equal bool
}

func (g truth) sigmas() (between, within float64) { return math.Sqrt(g.share), math.Sqrt(1 - g.share) }

// draw draws readings with lognormal zones.
func (g truth) draw(rng *rand.Rand, bound float64) []reading.Reading {
	between, within := g.sigmas()
	var out []reading.Reading
	for i := range g.zones {
		n := g.readings
		if !g.equal {
			n = 1 + rng.IntN(2*n-1)
		}
		b := between * rng.NormFloat64()
		for range n {
			v := math.Exp(b + within*rng.NormFloat64())
			r := reading.At(v)
			if v < bound {
				r = reading.Under(bound)
			}
			r.Zone = fmt.Sprintf("zone %02d", i)
			out = append(out, r)
		}
	}
	return out
}

// relative is the distance of got from want as a fraction of want.
func relative(got, want float64) float64 {
	if want == 0 {
		return math.Abs(got)
	}
	return math.Abs(got/want - 1)
}

// partition is Partition without an error.
func partition(tb testing.TB, readings []reading.Reading, o Options) Result {
	tb.Helper()
	r, err := Partition(readings, zoneOf, o)
	require.NoError(tb, err)
	return r
}
