package assess_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// manganese is example 15-1 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), in ppb: 19 detects, 6 non-detects under two
// reporting limits.
func manganese() reading.Group {
	g := group(200, 3.3, 5.3, 6.3, 7.7, 8.4, 9.5, 10, 11.9, 12.1, 12.6, 16.9, 17.9, 21.6, 22.7, 34.5, 45.9, 53.6, 77.2, 106.3)
	for _, l := range []float64{2, 2, 2, 5, 5, 5} {
		g.Readings = append(g.Readings, reading.Under(l))
	}
	return g
}

func TestNonDetectsAreFitted(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(manganese(), assess.Options{})
	require.NoError(t, err)
	// Maximum likelihood as printed in the handbook's example: GM, GSD from ln mean 2.215905 and ln sd 1.356291; mean 23.003987.
	require.InDelta(t, 9.16970, a.Fit.GeometricMean.Estimate, 5e-5)
	require.InDelta(t, 3.88177, a.Fit.GeometricStandardDeviation.Estimate, 5e-5)
	require.InDelta(t, 23.003987, a.Fit.ArithmeticMean.Estimate, 5e-6)
	require.InDelta(t, 85.3538, a.Percentile.Estimate, 5e-4)
	require.Less(t, a.Percentile.Lower, a.Percentile.Estimate)
	require.Greater(t, a.Percentile.Upper, a.Percentile.Estimate)
	require.Len(t, a.FitCheck.Plot, 25)
	require.Positive(t, a.Posterior.NumericalError)
	require.LessOrEqual(t, a.Posterior.NumericalError, 1e-7)
	require.Equal(t, decision.Compliant, a.Decision.Outcome, a.Decision.Reason)
}

func TestNoAnswerWithoutEnoughValues(t *testing.T) {
	t.Parallel()
	g := group(1)
	for range 6 {
		g.Readings = append(g.Readings, reading.Under(0.1))
	}
	a, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Nil(t, a.Fit)
	require.Nil(t, a.Posterior)
	require.Subset(t, noteCodes(a), []string{"undetermined", "distribution-free"})
	require.Equal(t, decision.Compliant, a.Decision.Outcome, a.Decision.Reason)
	require.Equal(t, 59, a.DistributionFree.PercentileUpper.Needed)
	require.Equal(t, 0, a.DistributionFree.Exceedance.Possibly)

	// A bounded prior answers, and says that the answer is its own.
	a, err = assessor.Group(g, assess.Options{Prior: posterior.Prior{Bounded: &posterior.BoundedPrior{
		GeometricMeanLower: 1e-3, GeometricMeanUpper: 1, GeometricStandardDeviationLower: 1.5, GeometricStandardDeviationUpper: 4,
	}}})
	require.NoError(t, err)
	require.NotNil(t, a.Percentile)
	require.True(t, math.IsNaN(a.Posterior.Influence.PercentileUpper))
	require.Contains(t, noteCodes(a), "prior")
}

func TestAPriorSaysHowFarItMovedTheAnswer(t *testing.T) {
	t.Parallel()
	g := group(50, chrysene()...)
	plain, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Nil(t, plain.Posterior.Influence)
	carried := posterior.Prior{Carried: &posterior.CarriedPrior{Readings: g.Readings, Weight: 1}}
	a, err := assessor.Group(g, assess.Options{Prior: carried})
	require.NoError(t, err)
	require.InEpsilon(t, plain.Percentile.Upper, a.Posterior.Influence.PercentileUpper, 1e-12)
	require.InEpsilon(t, plain.Posterior.PercentileAboveLimit, a.Posterior.Influence.PercentileAboveLimit, 1e-12)
	require.Less(t, a.Percentile.Upper, plain.Percentile.Upper)
	// Earlier readings of weight 0 change nothing: the quadrature meets the noncentral t.
	a, err = assessor.Group(g, assess.Options{Prior: posterior.Prior{Carried: &posterior.CarriedPrior{Readings: g.Readings}}})
	require.NoError(t, err)
	require.InEpsilon(t, plain.Percentile.Upper, a.Percentile.Upper, 1e-8)
}

func TestMeasurementErrorMakesTheTrueSpreadSmaller(t *testing.T) {
	t.Parallel()
	plain, err := assessor.Group(group(50, chrysene()...), assess.Options{})
	require.NoError(t, err)
	a, err := assessor.Group(group(50, chrysene()...), assess.Options{RelativeError: 0.25})
	require.NoError(t, err)
	require.Less(t, a.Fit.GeometricStandardDeviation.Upper, plain.Fit.GeometricStandardDeviation.Upper)
	require.Less(t, a.Percentile.Upper, plain.Percentile.Upper)
}

// mixedGroup draws readings of every kind, at least three of them with values that differ.
func mixedGroup(t *rapid.T) reading.Group {
	g := group(1, 0.11, 0.13, 0.2)
	for range rapid.IntRange(1, 12).Draw(t, "n") {
		v := math.Exp(rapid.Float64Range(-4, 1).Draw(t, "ln"))
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			g.Readings = append(g.Readings, reading.At(v))
		case 1:
			g.Readings = append(g.Readings, reading.Under(v))
		case 2:
			g.Readings = append(g.Readings, reading.Over(v))
		default:
			g.Readings = append(g.Readings, reading.Within(v, 1.7*v))
		}
	}
	return g
}

func TestOrderNeverMattersWithNonDetects(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := mixedGroup(t)
		first, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		g.Readings = rapid.Permutation(g.Readings).Draw(t, "order")
		second, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		require.Equal(t, bits(t, first), bits(t, second))
	})
}

func TestScaleNeverMattersWithNonDetects(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		g := mixedGroup(t)
		first, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		factor := math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "factor"))
		scaled := group(g.Limit.Value * factor)
		for _, r := range g.Readings {
			r.Lower *= factor
			r.Upper *= factor
			scaled.Readings = append(scaled.Readings, r)
		}
		second, err := assessor.Group(scaled, assess.Options{})
		require.NoError(t, err)
		require.Equal(t, first.Decision.Outcome, second.Decision.Outcome)
		require.InDelta(t, first.Posterior.PercentileAboveLimit, second.Posterior.PercentileAboveLimit, 1e-9)
		require.InDelta(t, first.Exceedance.Upper, second.Exceedance.Upper, 1e-9)
	})
}

// A band that shrinks to a point tends to the value.
func TestBandsTendToValues(t *testing.T) {
	t.Parallel()
	answer := func(r reading.Reading) *report.Assessment {
		g := manganese()
		g.Readings = append(g.Readings, r)
		a, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		return a
	}
	point := answer(reading.At(20))
	for _, half := range []float64{1e-2, 1e-4, 1e-6} {
		band := answer(reading.Within(20*(1-half), 20*(1+half)))
		require.InEpsilon(t, point.Percentile.Upper, band.Percentile.Upper, 10*half*half+1e-8)
		require.InEpsilon(t, point.Percentile.Estimate, band.Percentile.Estimate, 10*half*half+1e-8)
	}
}

func BenchmarkCensored(b *testing.B) {
	g := group(5)
	for i := range 20 {
		v := math.Exp(0.7 * numeric.NormalQuantile((float64(i)+0.5)/20))
		switch {
		case i < 8:
			g.Readings = append(g.Readings, reading.Under([]float64{0.6, 0.9, 1.3}[i%3]))
		default:
			g.Readings = append(g.Readings, reading.At(v))
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := assessor.Group(g, assess.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// Averages between close bounds say as much as values do, so nothing is said of how many have none.
func TestCloseBoundsAreNotMissingValues(t *testing.T) {
	t.Parallel()
	noted := func(lower float64) bool {
		g := reading.Group{Name: "close", Unit: "mg/m3"}
		for _, v := range []float64{1, 2, 3, 5, 8, 13} {
			g.Readings = append(g.Readings, reading.Within(lower*v, v))
		}
		a, err := assessor.Group(g, assess.Options{})
		require.NoError(t, err)
		return slices.ContainsFunc(a.Notes, func(n report.Note) bool { return n.Code == "much-censored" })
	}
	require.False(t, noted(0.5))
	require.True(t, noted(0.49))
}
