package logmean_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric/logmean"
)

// logMoments returns the size, the mean and the standard deviation (divisor n-1) of the natural logs of the values.
func logMoments(values ...float64) (n int, mean, sd float64) {
	for _, v := range values {
		mean += math.Log(v)
	}
	mean /= float64(len(values))
	for _, v := range values {
		d := math.Log(v) - mean
		sd += d * d
	}
	return len(values), mean, math.Sqrt(sd / float64(len(values)-1))
}

// The published data sets of the lognormal mean.

// qaG9S is Box 3-12 of the USEPA guidance QA/G-9S.
func qaG9S() []float64 {
	return []float64{8.12, 7.32, 4.82, 6.52, 7.80, 11.89, 12.94, 7.51, 18.14, 4.09, 5.70, 15.57, 6.68, 8.15, 5.56}
}

// chromium is Highlight 7 of the USEPA guidance 9285.7-081 (1992), mg/kg.
func chromium() []float64 {
	return []float64{10, 13, 20, 36, 41, 59, 67, 110, 110, 136, 140, 160, 200, 230, 1300}
}

// benzene is Example 21-2 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), ppb, the non-detect at half its limit as
// the handbook has it.
func benzene() []float64 { return []float64{0.5, 0.5, 1.6, 1.8, 1.1, 16.1, 1.6, 0.25} }

// gilbert is Example 13.1 of Gilbert (1987), Statistical Methods for Environmental Pollution Monitoring.
func gilbert() []float64 {
	return []float64{3.161, 4.151, 3.756, 2.202, 1.535, 20.76, 8.42, 7.81, 2.72, 4.43}
}

// airLead is the area samples of NIOSH HETA 89-052, µg/m³, of Krishnamoorthy, Mathew and Ramachandran (2006), Journal of
// Occupational and Environmental Hygiene 3, 642.
func airLead() []float64 {
	return []float64{200, 120, 15, 7, 8, 6, 48, 61, 380, 80, 29, 1000, 350, 1400, 110}
}

// unbiased is the estimate itself.
func unbiased(t *testing.T, n int, mean, sd float64) float64 {
	t.Helper()
	log, err := logmean.LogUnbiased(n, mean, sd)
	require.NoError(t, err)
	return math.Exp(log)
}

// Source: testdata/reference/lognormal_mean_limits.csv, column mvue (40-digit arithmetic, 20 printed).
func TestMeanMVUEReference(t *testing.T) {
	t.Parallel()
	for _, row := range reference.Rows(t, "lognormal_mean_limits.csv") {
		got := unbiased(t, row.Int(t, "n"), 0, row.Float(t, "s"))
		require.InEpsilon(t, row.Float(t, "mvue"), got, 2e-15, "n=%s s=%s", row["n"], row["s"])
	}
}

// Source: the series of 0F1 in 60-digit arithmetic (mpmath), 18 digits printed. Relative tolerance 4e-15; from
// s = 50 on the largest samples are scaled down on the way.
func TestLogMeanMVUEWide(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		n        int
		sd, want float64
	}{
		{2, 1e-6, 2.49999999999979167e-13},
		{2, 0.5, 0.0612397365040308246},
		{2, 5, 2.84323569060452668},
		{2, 50, 34.6621918787674309},
		{2, 1000, 706.413634005987579},
		{3, 1e-6, 3.33333333333305556e-13},
		{3, 50, 54.7903405262141337},
		{3, 1000, 1150.25590998853566},
		{20, 1e-6, 4.74999999999989256e-13},
		{20, 0.5, 0.118087577925839446},
		{20, 5, 8.68888613578832147},
		{20, 50, 180.691392801018524},
		{20, 1000, 4189.99387556420542},
		{5000, 0.5, 0.12497187708252252},
		{5000, 5, 12.4664748602116106},
		{5000, 50, 1050.19080038605602},
		{5000, 1000, 61532.2961898212412},
		{1000000, 0.5, 0.124999859375052083},
		{1000000, 5, 12.4998312556768021},
	} {
		got, err := logmean.LogUnbiased(c.n, 0, c.sd)
		require.NoError(t, err)
		require.InEpsilon(t, c.want, got, 4e-15, "n=%d sd=%v", c.n, c.sd)
	}
	// Here the rounding of some 190,000 factors adds up.
	got, err := logmean.LogUnbiased(1_000_000, 0, 1000)
	require.NoError(t, err)
	require.InEpsilon(t, 377427.777644357844, got, 2e-14)
}

// Published examples; the tolerance is half a unit of the last printed digit unless said otherwise.
func TestMeanMVUEPublished(t *testing.T) {
	t.Parallel()
	chrysene := []float64{19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7}
	for _, c := range []struct {
		source          string
		values          []float64
		want, tolerance float64
	}{
		{"USEPA Unified Guidance EPA 530/R-09-007 (2009), Example 17-3, chrysene", chrysene, 14.5547353, 5e-8},
		{"the same, Example 21-2, benzene", benzene(), 2.338968, 5e-7},
		{"USEPA 9285.7-081 (1992), Highlight 7, chromium", chromium(), 159.855185, 5e-7},
		{"NIOSH HETA 89-052, air lead (computed)", airLead(), 281.7037, 5e-5},
		{"Gilbert (1987), Example 13.1, in full digits (source and test of an R package)", gilbert(), 5.654428942, 5e-10},
		{"Gilbert (1987), Example 13.1, as printed from rounded steps (+-0.2 %)", gilbert(), 5.66, 0.002 * 5.66},
	} {
		n, mean, sd := logMoments(c.values...)
		got := unbiased(t, n, mean, sd)
		require.InDelta(t, c.want, got, c.tolerance, c.source)
	}
	// USEPA (1994), TcCB in a reference area, 47 values, from the printed mean and standard deviation of the logs: their
	// seven digits leave 1e-7.
	got := unbiased(t, 47, -0.6195712, 0.4679530)
	require.InDelta(t, 0.5989072, got, 1.5e-7)
}

// psi is Finney's function, in the form psi_n(t) with t = s²/2.
func psi(t *testing.T, n int, x float64) float64 {
	t.Helper()
	return unbiased(t, n, 0, math.Sqrt(2*x))
}

// Finney's function itself and what else Gilbert's example builds from it.
func TestFinneyFunction(t *testing.T) {
	t.Parallel()
	// Source: computed in 40 digits; five decimals.
	for _, c := range []struct {
		n       int
		x, want float64
	}{
		{5, 0.5, 1.45703},
		{10, 0.1, 1.09338},
		{10, 0.5, 1.54205},
		{10, 1, 2.31043},
		{10, 2, 4.85753},
		{20, 0.5, 1.59171},
		{50, 0.5, 1.62483},
	} {
		require.InDelta(t, c.want, psi(t, c.n, c.x), 5.1e-6, "psi_%d(%v)", c.n, c.x)
	}
	// Gilbert (1987), Example 13.1: psi 1.284131766 (computed), standard error of the estimate 1.3944504 and standard
	// deviation 4.4486438 (source and test of an R package); the printed variance of the mean, 1.97, comes from rounded
	// steps (+-1.5 %); the printed variance is 19.8.
	n, mean, sd := logMoments(gilbert()...)
	square := sd * sd
	first := psi(t, n, square/2)
	require.InDelta(t, 1.284131766, first, 5e-10)
	mixed := psi(t, n, square*float64(n-2)/float64(n-1))
	variance := math.Exp(2*mean) * (first*first - mixed)
	require.InDelta(t, 1.3944504, math.Sqrt(variance), 5e-8)
	require.InDelta(t, 1.97, variance, 0.015*1.97)
	spread := math.Exp(2*mean) * (psi(t, n, 2*square) - mixed)
	require.InDelta(t, 4.4486438, math.Sqrt(spread), 5e-8)
	require.InDelta(t, 19.8, spread, 0.05)
}

func TestMeanErrors(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		n        int
		mean, sd float64
		want     error
	}{
		{1, 0, 1, logmean.ErrMeanReadings},
		{-3, 0, 1, logmean.ErrMeanReadings},
		{1_000_001, 0, 1, logmean.ErrMeanReadings},
		{5, nan, 1, logmean.ErrMeanLogs},
		{5, inf, 1, logmean.ErrMeanLogs},
		{5, 0, nan, logmean.ErrMeanLogs},
		{5, 0, 0, logmean.ErrMeanLogs},
		{5, 0, -1, logmean.ErrMeanLogs},
		{5, 0, inf, logmean.ErrMeanLogs},
		{5, 0, 1101, logmean.ErrMeanLogs},
	} {
		_, err := logmean.LogUnbiased(c.n, c.mean, c.sd)
		require.ErrorIs(t, err, c.want)
		_, err = logmean.Land(c.n, c.mean, c.sd, 0.95)
		require.ErrorIs(t, err, c.want)
		_, err = logmean.Pivotal(c.n, c.mean, c.sd, 0.95)
		require.ErrorIs(t, err, c.want)
	}
	for _, p := range []float64{nan, -1, 0, 9e-7, 1 - 9e-7, 1, 2} {
		_, err := logmean.Land(5, 0, 1, p)
		require.ErrorIs(t, err, logmean.ErrMeanLevel, "p = %v", p)
		_, err = logmean.Pivotal(5, 0, 1, p)
		require.ErrorIs(t, err, logmean.ErrMeanLevel, "p = %v", p)
	}
	// The estimate itself is beyond a float64.
	log, err := logmean.LogUnbiased(20, 702, 5)
	require.NoError(t, err)
	require.InDelta(t, 710.68888613578832, log, 1e-12)
}

// The estimate lies between the geometric mean and the maximum-likelihood form exp(mean + s²/2), and grows with n toward
// the latter.
func TestLogMeanMVUEProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 3000).Draw(t, "n")
		sd := rapid.Float64Range(0.01, 20).Draw(t, "sd")
		a, err := logmean.LogUnbiased(n, 0, sd)
		require.NoError(t, err)
		b, err := logmean.LogUnbiased(n+1, 0, sd)
		require.NoError(t, err)
		require.True(t, 0 < a && a < b && b < sd*sd/2, "%v %v", a, b)
	})
}

func BenchmarkMeanMVUE20(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_, _ = logmean.LogUnbiased(20, 0, 1)
	}
}
