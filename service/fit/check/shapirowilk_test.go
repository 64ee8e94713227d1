package check_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/internal/reference"
)

// logsOf returns the natural logs of the values, ascending.
func logsOf(values []float64) []float64 {
	logs := make([]float64, len(values))
	for i, x := range values {
		logs[i] = math.Log(x)
	}
	slices.Sort(logs)
	return logs
}

// normalitySamples reads the samples behind shapiro_wilk.csv, each ascending.
func normalitySamples(t *testing.T) map[string][]float64 {
	t.Helper()
	var rows []struct {
		ID string    `json:"id"`
		X  []float64 `json:"x"`
	}
	reference.JSON(t, "normality_samples.json", &rows)
	samples := make(map[string][]float64, len(rows))
	for _, row := range rows {
		slices.Sort(row.X)
		samples[row.ID] = row.X
	}
	return samples
}

// Source: testdata/reference/shapiro_wilk.csv (R 4.2.2 stats::shapiro.test; agreement with a 40-digit AS R94 of 1.6e-13 in
// W and, where p > 1e-15, of 8e-12 in p). Tolerances: 1e-12 relative in W, 1e-10 relative in p > 1e-15, below that 1e-15
// absolute, since the reference promises no digits there.
func TestShapiroWilkReference(t *testing.T) {
	t.Parallel()
	samples := normalitySamples(t)
	rows := reference.Rows(t, "shapiro_wilk.csv")
	require.Len(t, rows, 84)
	for _, row := range rows {
		name := row["id"] + " " + row["scale"]
		sample := samples[row["id"]]
		require.Len(t, sample, row.Int(t, "n"))
		if row["scale"] == "log" {
			sample = logsOf(sample)
		}
		w, p, err := check.ShapiroWilk(sample)
		require.NoError(t, err, name)
		wantW, wantP := row.Float(t, "W"), row.Float(t, "W_p")
		require.InDelta(t, wantW, w, 1e-12*wantW, "W of %s", name)
		require.InDelta(t, wantP, p, max(1e-10*wantP, 1e-15), "p of %s", name)
	}
}

// USEPA Unified Guidance EPA 530/R-09-007 (2009), Example 10: nickel, ppb, four wells of five in order.
func nickel() []float64 {
	return []float64{
		58.8, 1, 262, 56, 8.7, 19, 81.5, 331, 14, 64.4,
		39, 151, 27, 21.4, 578, 3.1, 942, 85.6, 10, 637,
	}
}

// Published examples. A tolerance is half a unit of the last printed digit. A pValue of 0 stands for none printed.
func TestShapiroWilkPublished(t *testing.T) {
	t.Parallel()
	benzene := []float64{0.5, 0.5, 1.6, 1.8, 1.1, 16.1, 1.6, 0.25}
	chrysene := []float64{19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7}
	chromium := []float64{10, 13, 20, 36, 41, 59, 67, 110, 110, 136, 140, 160, 200, 230, 1300}
	lead := []float64{200, 120, 15, 7, 8, 6, 48, 61, 380, 80, 29, 1000, 350, 1400, 110}
	men := []float64{148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236}
	const (
		epa2009  = "USEPA Unified Guidance EPA 530/R-09-007 (2009), "
		nickelIs = epa2009 + "Example 10, nickel"
	)
	for _, c := range []struct {
		name              string
		sample            []float64
		w, wTolerance     float64
		pValue, tolerance float64
	}{
		{nickelIs + ", raw", nickel(), 0.6788888, 5e-8, 2.17927e-5, 5e-11},
		{nickelIs + ", logs", logsOf(nickel()), 0.978946, 5e-7, 0.9197735, 5e-8},
		{nickelIs + ", well 1", nickel()[0:5], 0.7578, 5e-5, 0.03510747, 5e-9},
		{nickelIs + ", well 2", nickel()[5:10], 0.7397, 5e-5, 0.02385344, 5e-9},
		{nickelIs + ", well 3", nickel()[10:15], 0.7066, 5e-5, 0.01120775, 5e-9},
		{nickelIs + ", well 4", nickel()[15:20], 0.8150, 5e-5, 0.10681461, 5e-9},
		// The chrysene figures are printed with more digits than they hold: AS R94 in 40 digits gives p = 0.0271725083 for
		// the raw values and W = 0.9564115272, p = 0.7753088511 for the logs. Hence the wider tolerances of three of them.
		{epa2009 + "Example 17-3, chrysene, raw", chrysene, 0.7978882, 5e-8, 0.02717253, 5e-8},
		{epa2009 + "Example 17-3, chrysene, logs", logsOf(chrysene), 0.9564116, 1e-7, 0.7753094, 1e-6},
		{epa2009 + "Example 21-2, benzene, raw", benzene, 0.5208992, 5e-8, 1.8415e-5, 5e-10},
		{epa2009 + "Example 21-2, benzene, logs", logsOf(benzene), 0.896502, 5e-7, 0.26863, 5e-6},
		{"EPA 9285.7-081 (1992), chromium, logs", logsOf(chromium), 0.9607179, 5e-8, 0.7048747, 5e-8},
		{"air lead of NIOSH HETA 89-052, logs (computed, R)", logsOf(lead), 0.958174, 5e-7, 0.6607, 5e-5},
		{"air lead of NIOSH HETA 89-052, raw (computed, R)", lead, 0.651162, 5e-7, 0, 0},
		{"Shapiro and Wilk 1965, weights of 11 men (W from memory)", men, 0.79, 5e-3, 0, 0},
		{"weights of 11 men (AS R94 in 40 digits, mpmath)", men, 0.7888146948353874, 1e-12, 0.006703814056503012, 1e-12},
	} {
		sample := slices.Sorted(slices.Values(c.sample))
		w, p, err := check.ShapiroWilk(sample)
		require.NoError(t, err, c.name)
		require.InDelta(t, c.w, w, c.wTolerance, "W, %s", c.name)
		if c.pValue > 0 {
			require.InDelta(t, c.pValue, p, c.tolerance, "p, %s", c.name)
		}
	}
}

// For n = 3 the null distribution of W is known: 5 % point 0.77232 (computed from Shapiro and Wilk's exact density), and
// W runs from 3/4 (two equal values) to 1 (equal gaps).
func TestShapiroWilkThreeValues(t *testing.T) {
	t.Parallel()
	w, p, err := check.ShapiroWilk([]float64{1, 1, 2})
	require.NoError(t, err)
	require.InDelta(t, 0.75, w, 1e-15)
	require.InDelta(t, 0, p, 1e-15)
	w, p, err = check.ShapiroWilk([]float64{1, 2, 3})
	require.NoError(t, err)
	require.InDelta(t, 1, w, 1e-15)
	require.InDelta(t, 1, p, 1e-7)
	// Three values a gap of 1 and a gap of g apart have W = 0.75 (1+g)^2/(1+g+g^2); this g gives W = 0.77232, the 5 % point.
	const g = 0.0307017
	w, p, err = check.ShapiroWilk([]float64{0, g, 1 + g})
	require.NoError(t, err)
	require.InDelta(t, 0.77232, w, 5e-6)
	require.InDelta(t, 0.05, p, 5e-5)
}

// Both sides of each seam of the algorithm: a change of formula must not show as a jump. The samples are the normal scores
// themselves with one value moved, so that W changes smoothly with n; p on either side of a seam stays within a few
// hundredths (Royston's fits on the two sides are separate).
func TestShapiroWilkSeams(t *testing.T) {
	t.Parallel()
	previous := math.NaN()
	for n := 4; n <= 40; n++ {
		sample := check.NormalScores(n)
		sample[n-1] += 1.5
		_, p, err := check.ShapiroWilk(sample)
		require.NoError(t, err)
		if n > 6 {
			require.InDelta(t, previous, p, 0.06, "n = %d", n)
		}
		previous = p
	}
}

func TestShapiroWilkErrors(t *testing.T) {
	t.Parallel()
	long := check.NormalScores(5001)
	_, _, err := check.ShapiroWilk(long[:5000])
	require.NoError(t, err)
	for _, c := range []struct {
		sample []float64
		want   error
	}{
		{nil, check.ErrShapiroWilkTooFew},
		{[]float64{1, 2}, check.ErrShapiroWilkTooFew},
		{long, check.ErrShapiroWilkTooMany},
		{[]float64{1, math.NaN(), 2}, check.ErrShapiroWilkNotFinite},
		{[]float64{1, 2, math.Inf(1)}, check.ErrShapiroWilkNotFinite},
		{[]float64{math.Inf(-1), 1, 2}, check.ErrShapiroWilkNotFinite},
		{[]float64{2, 1, 3}, check.ErrShapiroWilkNotSorted},
		{[]float64{2, 2, 2, 2}, check.ErrShapiroWilkAllEqual},
		{[]float64{0, 0, 5e-324}, check.ErrShapiroWilkAllEqual},
	} {
		w, p, err := check.ShapiroWilk(c.sample)
		require.ErrorIs(t, err, c.want)
		require.Zero(t, w)
		require.Zero(t, p)
	}
}

// Whatever the sample, W and p are probabilities' numbers: 0..1, the same for the sample turned round, and the same after
// a change of unit by a power of two.
func TestShapiroWilkProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		sample := rapid.SliceOfN(rapid.Float64Range(-1e3, 1e3), 3, 60).Draw(t, "sample")
		slices.Sort(sample)
		w, p, err := check.ShapiroWilk(sample)
		if err != nil {
			require.ErrorIs(t, err, check.ErrShapiroWilkAllEqual)
			return
		}
		require.True(t, w > 0 && w <= 1, "W = %v", w)
		require.True(t, p >= 0 && p <= 1, "p = %v", p)
		turned, scaled := make([]float64, len(sample)), make([]float64, len(sample))
		for i, x := range sample {
			turned[len(sample)-1-i] = -x
			scaled[i] = 1024 * x
		}
		w2, _, err := check.ShapiroWilk(turned)
		require.NoError(t, err)
		require.InDelta(t, w, w2, 1e-12)
		w3, p3, err := check.ShapiroWilk(scaled)
		require.NoError(t, err)
		require.Equal(t, w, w3)
		require.Equal(t, p, p3)
	})
}

func TestShapiroWilkAllocatesNothing(t *testing.T) {
	sample := logsOf(nickel())
	require.Zero(t, testing.AllocsPerRun(100, func() { _, _, _ = check.ShapiroWilk(sample) }))
}

func BenchmarkShapiroWilk20(b *testing.B) {
	sample := logsOf(nickel())
	b.ReportAllocs()
	for b.Loop() {
		_, _, _ = check.ShapiroWilk(sample)
	}
}

func BenchmarkShapiroWilk500(b *testing.B) {
	sample := check.NormalScores(500)
	b.ReportAllocs()
	for b.Loop() {
		_, _, _ = check.ShapiroWilk(sample)
	}
}
