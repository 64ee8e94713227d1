package decision

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// evidence is a group of detected readings against a limit.
func evidence(limit float64, values ...float64) *Evidence {
	readings := make([]reading.Reading, len(values))
	for i, v := range values {
		readings[i] = reading.At(v)
	}
	f := fit.Uncensored(readings, nil)
	return &Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: limit, Unit: "mg/m3"}
}

// chrysene is example 17-3 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), in ppb.
func chrysene() []float64 { return []float64{19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7} }

// The thresholds U of the French order of 15 December 2009 (JO no. 292, NOR MTST0924705A, annex 2), n = 6 to 59, and the
// value that it holds from 60 on. All are the exact factor for the 95th percentile at 70 % rounded to 3 decimals; the flat
// tail is conservative, the exact factor keeps falling.
func TestEN689FactorIsTheFrenchThreshold(t *testing.T) {
	t.Parallel()
	printed := []float64{
		2.187, 2.120, 2.072, 2.035, 2.005, 1.981, 1.961, 1.944, 1.929, 1.917, 1.905, 1.895, 1.886, 1.878, 1.870, 1.863, 1.857,
		1.851, 1.846, 1.841, 1.836, 1.832, 1.828, 1.824, 1.820, 1.817, 1.814, 1.811, 1.808, 1.805, 1.802, 1.800, 1.797, 1.795,
		1.793, 1.791, 1.789, 1.787, 1.785, 1.783, 1.781, 1.780, 1.778, 1.776, 1.775, 1.773, 1.772, 1.771, 1.769, 1.768, 1.767,
		1.765, 1.764, 1.763, 1.762,
	}
	require.Len(t, printed, 55)
	for i, want := range printed {
		n := 6 + i
		require.InDelta(t, want, numeric.ToleranceFactor(n, en689Fraction, en689Confidence), 0.0005, "n = %d", n)
	}
}

// The same order's worked decision: with n = 9 a U below 2.035 diagnoses an exceedance, a U of at least 2.035 does not.
func TestEN689FrenchWorkedDecision(t *testing.T) {
	t.Parallel()
	// Nine values with the mean 0 and the standard deviation 1 of ln reading exactly, so that U = ln limit.
	half := math.Exp(1)
	values := []float64{half, half, half, half, 1, 1 / half, 1 / half, 1 / half, 1 / half}
	e := evidence(1, values...)
	require.InDelta(t, 0, e.Fit.Mu, 1e-15)
	require.InDelta(t, 1, e.Fit.Sigma, 1e-15)
	for u, want := range map[float64]Outcome{2.034: NotCompliant, 2.035: Compliant} {
		e.Limit = math.Exp(u)
		got, reason := en689(e)
		require.Equal(t, want, got, reason)
	}
}

// The boundary case of the chrysene data, computed with SciPy and mpmath: the exact upper 70 % limit of the 95th percentile
// is 45.1276. The table rounded to 3 decimals would switch at 45.1362; this service uses the exact factor.
func TestEN689BoundaryIsExact(t *testing.T) {
	t.Parallel()
	cases := []struct {
		limit float64
		want  Outcome
	}{{45, NotCompliant}, {45.127, NotCompliant}, {45.1282, Compliant}, {45.1361, Compliant}, {46, Compliant}}
	for _, c := range cases {
		got, reason := en689(evidence(c.limit, chrysene()...))
		require.Equal(t, c.want, got, reason)
	}
}

// Steps and thresholds of EN 689:2018, 5.5.2, from memory.
func TestEN689PreliminaryTest(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name   string
		values []float64
		want   Outcome
		says   string
	}{
		{"one result", []float64{0.01}, Undecided, "take at least 2 more"},
		{"two results", []float64{0.01, 0.02}, Undecided, "take at least 1 more"},
		{"three low", []float64{0.01, 0.02, 0.0999}, Compliant, "0.1 of the limit"},
		{"three, one at the fraction", []float64{0.01, 0.02, 0.1}, Undecided, "take at least 3 more"},
		{"four low", []float64{0.01, 0.02, 0.03, 0.149}, Compliant, "0.15 of the limit"},
		{"four, one high", []float64{0.01, 0.02, 0.03, 0.16}, Undecided, "take at least 2 more"},
		{"five low", []float64{0.01, 0.02, 0.03, 0.04, 0.199}, Compliant, "0.2 of the limit"},
		{"five, one high", []float64{0.01, 0.02, 0.03, 0.04, 0.9}, Undecided, "take at least 1 more"},
		{"one over", []float64{0.01, 1.01}, NotCompliant, "above the limit"},
		{"at the limit is not above it", []float64{0.5, 1, 0.2}, Undecided, "No result is known to be above"},
		{"six equal", []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5}, Undecided, "No lognormal can be fitted"},
		{"six equal and low", []float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, Compliant, "stands in for the statistical test"},
		{"three equal and low", []float64{0.05, 0.05, 0.05}, Compliant, "Preliminary test"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, reason := en689(evidence(1, c.values...))
			require.Equal(t, c.want, got, reason)
			require.Contains(t, reason, c.says)
		})
	}
}

// 0.2 × 0.05 is 0.010000000000000002 in binary, but a result of 0.01 is not below it.
func TestEN689BoundsAreDecimal(t *testing.T) {
	t.Parallel()
	got, reason := en689(evidence(0.05, 0.01, 0.004, 0.005, 0.006, 0.007))
	require.Equal(t, Undecided, got, reason)
	got, reason = en689(evidence(0.05, 0.00999, 0.004, 0.005, 0.006, 0.007))
	require.Equal(t, Compliant, got, reason)
}

// A reader with a pocket calculator must come to the same numbers.
func TestEN689SpellsOutItsArithmetic(t *testing.T) {
	t.Parallel()
	_, reason := en689(evidence(50, chrysene()...))
	for _, part := range []string{"8 results", "mean of ln result 2.509", "standard deviation 0.6279", "UT = 2.072", "45.13 mg/m3", "limit, 50 mg/m3"} {
		require.Contains(t, reason, part)
	}
	require.NotContains(t, reason, "NaN")
}
