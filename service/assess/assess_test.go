package assess_test

import (
	"bytes"
	"encoding/gob"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// assessor is shared by all tests, as it is by all calls of a server.
var assessor assess.Assessor

func group(limit float64, values ...float64) reading.Group {
	g := reading.Group{Name: "hall", Agent: "dust", Unit: "mg/m3", Limit: &reading.Limit{Value: limit, Unit: "mg/m3"}}
	for _, v := range values {
		g.Readings = append(g.Readings, reading.At(v))
	}
	return g
}

// chrysene is example 17-3 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), in ppb.
func chrysene() []float64 { return []float64{19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7} }

func TestGroupGivesTheWholeAnswer(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(group(50, chrysene()...), assess.Options{})
	require.NoError(t, err)
	require.Equal(t, reading.Counts{Readings: 8, Detected: 8, Minimum: 5.7, Maximum: 39.2}, a.Sample)
	// GM, GSD, mean, percentile and upper limit as printed in the handbook's example.
	require.InDelta(t, 12.28744, a.Fit.GeometricMean.Estimate, 5e-6)
	require.InDelta(t, 1.87376, a.Fit.GeometricStandardDeviation.Estimate, 5e-6)
	require.InDelta(t, 14.5547353, a.Fit.ArithmeticMean.Estimate, 5e-8)
	require.InDelta(t, 34.51727, a.Percentile.Estimate, 5e-6)
	require.InDelta(t, 90.9247, a.Percentile.Upper, 5e-5)
	require.Equal(t, 0.95, a.Percentile.Fraction)
	// W and p of the logs, same handbook, chapter 10; its last digit comes from a rounded coefficient (W is 0.95641153).
	require.InDelta(t, 0.9564116, a.FitCheck.Statistic, 1e-7)
	require.InDelta(t, 0.7753094, a.FitCheck.PValue, 1e-6)
	require.Len(t, a.FitCheck.Plot, 8)
	require.Equal(t, decision.Compliant, a.Decision.Outcome)
	require.Len(t, a.Decisions, 6)
	require.NotEmpty(t, a.Methods)
	require.Equal(t, report.Caution, a.Caution)
	total := 0.0
	for _, b := range a.Posterior.Bands {
		total += b.Probability
	}
	require.InDelta(t, 1, total, 1e-14)
	require.InDelta(t, a.Posterior.PercentileAboveLimit, a.Posterior.Bands[3].Probability, 1e-16)
}

func TestUnits(t *testing.T) {
	t.Parallel()
	g := group(0, chrysene()...)
	g.Limit = &reading.Limit{Value: 50000, Unit: "µg/m³"}
	a, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Equal(t, reading.Limit{Value: 50, Unit: "mg/m3"}, *a.Limit)

	g.Limit = &reading.Limit{Value: 50}
	a, err = assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Equal(t, 50.0, a.Limit.Value)

	g.Limit = &reading.Limit{Value: 50, Unit: "ppm"}
	_, err = assessor.Group(g, assess.Options{})
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	require.ErrorContains(t, err, `limit.unit: "ppm" cannot be converted to "mg/m3"`)

	g.Limit = &reading.Limit{Value: 1e308, Unit: "kg/m3"}
	_, err = assessor.Group(g, assess.Options{})
	require.ErrorContains(t, err, "limit.value")
}

func noteCodes(a *report.Assessment) []string {
	var codes []string
	for _, n := range a.Notes {
		codes = append(codes, n.Code)
	}
	return codes
}

func TestEdgesHaveDefinedAnswers(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name    string
		g       reading.Group
		fitted  bool
		outcome decision.Outcome
		notes   []string
	}{
		{"one reading under the limit", group(1, 0.5), false, decision.Undecided, []string{"one-reading"}},
		{"one reading over the limit", group(1, 2), false, decision.NotCompliant, []string{"one-reading"}},
		{"two readings", group(1, 0.5, 0.4), true, decision.Undecided, []string{"few-readings"}},
		{"three equal and low", group(1, 0.05, 0.05, 0.05), false, decision.Compliant, []string{"no-spread"}},
		{"six equal", group(1, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5), false, decision.Undecided, []string{"no-spread"}},
		{"very small", group(1, 1e-300, 2e-300, 4e-300), true, decision.Compliant, []string{"few-readings"}},
		{"very large", group(1, 1e300, 2e300, 4e300), true, decision.NotCompliant, []string{"few-readings"}},
		{"very wide", group(1, 1e-300, 1e300), true, decision.NotCompliant, []string{"few-readings", "wide-spread", "beyond-numbers"}},
		{"next to equal", group(1, 0.5, math.Nextafter(0.5, 1), 0.5), true, decision.Undecided, []string{"few-readings"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a, err := assessor.Group(c.g, assess.Options{})
			require.NoError(t, err)
			require.Equal(t, c.fitted, a.Fit != nil)
			require.Equal(t, c.outcome, a.Decision.Outcome, a.Decision.Reason)
			require.Subset(t, noteCodes(a), c.notes)
			for _, d := range a.Decisions {
				require.NotContains(t, d.Reason, "NaN")
				require.NotContains(t, d.Reason, "Inf")
			}
		})
	}
}

func TestWithoutALimitTheGroupIsDescribed(t *testing.T) {
	t.Parallel()
	g := group(1, chrysene()...)
	g.Limit = nil
	a, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.NotNil(t, a.Fit)
	require.Nil(t, a.Decision)
	require.Nil(t, a.Exceedance)
	require.Contains(t, noteCodes(a), "no-limit")
}

func TestPoorFitIsSaid(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(group(100, 1, 1.01, 1.02, 1.03, 0.99, 0.98, 40, 41, 42, 43), assess.Options{})
	require.NoError(t, err)
	require.Contains(t, noteCodes(a), "poor-fit")
}

// anyGroup draws a group whose every part of the answer is a number.
func anyGroup(t *rapid.T) reading.Group {
	n := rapid.IntRange(3, 30).Draw(t, "n")
	g := group(rapid.Float64Range(1e-3, 1e3).Draw(t, "limit"))
	for i := range n {
		g.Readings = append(g.Readings, reading.At(math.Exp(rapid.Float64Range(-4, 4).Draw(t, fmt.Sprint("ln reading ", i)))))
	}
	return g
}

// bits writes an answer so that NaN equals itself.
func bits(t require.TestingT, a *report.Assessment) string {
	var b bytes.Buffer
	require.NoError(t, gob.NewEncoder(&b).Encode(a))
	return b.String()
}

// The order of the readings never changes a bit, and asking twice never does either.
func TestOrderNeverMatters(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := anyGroup(t)
		first, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		g.Readings = rapid.Permutation(g.Readings).Draw(t, "order")
		second, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		require.Equal(t, bits(t, first), bits(t, second))
	})
}

// Scaling all readings and the limit by a constant changes no probability and no outcome.
func TestScaleNeverMatters(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := anyGroup(t)
		first, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		factor := math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "factor"))
		scaled := group(g.Limit.Value * factor)
		for _, r := range g.Readings {
			scaled.Readings = append(scaled.Readings, reading.At(r.Lower*factor))
		}
		second, err := assessor.Group(scaled, assess.Options{})
		require.NoError(t, err)
		require.Equal(t, first.Decision.Outcome, second.Decision.Outcome)
		if first.Posterior == nil {
			return
		}
		require.InDelta(t, first.Posterior.PercentileAboveLimit, second.Posterior.PercentileAboveLimit, 1e-12)
		require.InDelta(t, first.Exceedance.Upper, second.Exceedance.Upper, 1e-12)
		require.InEpsilon(t, first.Percentile.Upper*factor, second.Percentile.Upper, 1e-11)
	})
}

// Limits are monotone in the confidence and stand around the estimate at high confidence.
func TestLimitsAreMonotoneInConfidence(t *testing.T) {
	t.Parallel()
	confidences := []float64{0.5, 0.7, 0.9, 0.95, 0.99}
	uppers := make([]float64, len(confidences))
	lowers := make([]float64, len(confidences))
	for i, c := range confidences {
		a, err := assessor.Group(group(50, chrysene()...), assess.Options{Confidence: c})
		require.NoError(t, err)
		uppers[i], lowers[i] = a.Percentile.Upper, -a.Percentile.Lower
	}
	require.True(t, slices.IsSorted(uppers), uppers)
	require.True(t, slices.IsSorted(lowers), lowers)
}

func BenchmarkGroup(b *testing.B) {
	for _, n := range []int{6, 12, 20, 100} {
		values := make([]float64, n)
		for i := range values {
			values[i] = math.Exp(0.7 * numeric.NormalQuantile((float64(i)+0.5)/float64(n)))
		}
		g := group(5, values...)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := assessor.Group(g, assess.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
