package assess_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

func TestCurvesAreOffByDefault(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(group(50, chrysene()...), assess.Options{})
	require.NoError(t, err)
	require.Nil(t, a.Curves)
	// Nor are there any without a fit.
	a, err = assessor.Group(group(50, 3), assess.Options{Curves: true})
	require.NoError(t, err)
	require.Nil(t, a.Curves)
}

// curved are groups and ways to judge that take every path to a curve.
func curved() map[string]struct {
	group   reading.Group
	options assess.Options
} {
	type row = struct {
		group   reading.Group
		options assess.Options
	}
	bounded := posterior.Prior{Bounded: &posterior.BoundedPrior{
		GeometricMeanLower: 0.1, GeometricMeanUpper: 100, GeometricStandardDeviationLower: 1.2, GeometricStandardDeviationUpper: 6,
	}}
	return map[string]row{
		"exact":               {group(50, chrysene()...), assess.Options{}},
		"two readings":        {group(50, 3, 4), assess.Options{Confidence: 0.9}},
		"outer percentile":    {group(50, chrysene()...), assess.Options{Percentile: 0.999, Confidence: 0.7}},
		"median":              {group(50, chrysene()...), assess.Options{Percentile: 0.5}},
		"limit below all":     {group(0.5, chrysene()...), assess.Options{}},
		"censored":            {manganese(), assess.Options{}},
		"censored calibrated": {manganese(), assess.Options{Calibrated: true}},
		"measurement error":   {group(50, chrysene()...), assess.Options{RelativeError: 0.2}},
		"bounded":             {group(50, chrysene()...), assess.Options{Prior: bounded}},
	}
}

func TestCurvesHoldTheAnswer(t *testing.T) {
	t.Parallel()
	for name, c := range curved() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			plain, err := assessor.Group(c.group, c.options)
			require.NoError(t, err)
			c.options.Curves = true
			a, err := assessor.Group(c.group, c.options)
			require.NoError(t, err)
			require.NotNil(t, a.Curves)

			// The percentile and the exceedance of the answer lie on the curves, to the bit.
			require.Contains(t, a.Curves.Percentiles, report.CurvePoint{
				Fraction: a.Percentile.Fraction, Concentration: a.Percentile.Estimate, Lower: a.Percentile.Lower, Upper: a.Percentile.Upper,
			})
			require.Contains(t, a.Curves.Exceedances, report.CurvePoint{
				Fraction: a.Exceedance.Estimate, Concentration: a.Limit.Value, Lower: a.Exceedance.Lower, Upper: a.Exceedance.Upper,
			})
			requireCurve(t, a.Curves.Percentiles, 33)
			requireCurve(t, a.Curves.Exceedances, 41)
			requireDensity(t, a)
			// Asking for curves changes nothing else.
			a.Curves = nil
			require.Equal(t, bits(t, plain), bits(t, a))
		})
	}
}

// requireCurve demands ascending places and limits about the estimate that never turn back.
func requireCurve(t require.TestingT, points []report.CurvePoint, least int) {
	require.GreaterOrEqual(t, len(points), least)
	for i, p := range points {
		for _, v := range []float64{p.Fraction, p.Concentration, p.Lower, p.Upper} {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%d: %+v", i, p)
		}
		require.Less(t, p.Lower, p.Upper)
		if i == 0 {
			continue
		}
		last := points[i-1]
		require.Greater(t, p.Concentration, last.Concentration)
		if p.Fraction > last.Fraction {
			require.GreaterOrEqual(t, p.Lower, last.Lower)
			require.GreaterOrEqual(t, p.Upper, last.Upper)
		} else {
			require.LessOrEqual(t, p.Lower, last.Lower)
			require.LessOrEqual(t, p.Upper, last.Upper)
		}
	}
}

// requireDensity demands that the density integrates to what lies between its ends, and above the limit to the probability that
// the answer gives.
func requireDensity(t require.TestingT, a *report.Assessment) {
	points := a.Curves.Density
	require.Len(t, points, 161)
	covered := 1 - 2*numeric.NormalSurvival(3.3)
	above := 0.0
	require.InDelta(t, covered, integral(points, func(x float64) float64 {
		if x > a.Limit.Value {
			above = 1
		}
		return 1
	}), 1e-3)
	if a.Limit.Value > points[0].Concentration && above == 1 {
		// The limit falls between two points, so that the sum is off by a part of one step.
		require.InDelta(t, a.Posterior.PercentileAboveLimit, integral(points, func(x float64) float64 {
			if x > a.Limit.Value {
				return 1
			}
			return 0
		}), 0.025)
	}
}

// integral is that of density times weight over ln concentration, by the trapezoid rule.
func integral(points []report.DensityPoint, weight func(float64) float64) (sum float64) {
	for i := 1; i < len(points); i++ {
		p, q := points[i-1], points[i]
		width := math.Log(q.Concentration) - math.Log(p.Concentration)
		sum += width * (p.Density*weight(p.Concentration) + q.Density*weight(q.Concentration)) / 2
	}
	return sum
}

// The band of a group of n readings with mean 0 and standard deviation 1 of ln reading is exp(k), k the tolerance factors of the
// reference table (mpmath, 30 digits).
func TestTheBandIsThatOfTheToleranceFactors(t *testing.T) {
	t.Parallel()
	checked := 0
	for _, row := range reference.Rows(t, "tolerance_factor.csv") {
		n, p, confidence := row.Int(t, "n"), row.Float(t, "p"), row.Float(t, "conf")
		if n > 12 || confidence <= 0.5 || n == 2 && confidence > 0.95 {
			continue
		}
		checked++
		a, err := assessor.Group(standardGroup(n), assess.Options{Percentile: p, Confidence: confidence, Curves: true})
		require.NoError(t, err)
		point := at(t, a.Curves.Percentiles, p)
		require.InEpsilon(t, row.Float(t, "k"), math.Log(point.Upper), 1e-9, "%v", row)
		require.InDelta(t, numeric.NormalQuantile(p), math.Log(point.Concentration), 1e-12)
	}
	require.Greater(t, checked, 20)
}

// standardGroup has n readings with mean 0 and standard deviation 1 (divisor n-1) of ln reading.
func standardGroup(n int) reading.Group {
	logs, squares := make([]float64, n), 0.0
	for i := range logs {
		logs[i] = float64(2*i - n + 1)
		squares += logs[i] * logs[i]
	}
	scale := math.Sqrt(float64(n-1) / squares)
	values := make([]float64, n)
	for i, x := range logs {
		values[i] = math.Exp(scale * x)
	}
	return group(10, values...)
}

func at(t *testing.T, points []report.CurvePoint, fraction float64) report.CurvePoint {
	t.Helper()
	for _, p := range points {
		if p.Fraction == fraction {
			return p
		}
	}
	require.Fail(t, "no such fraction")
	return report.CurvePoint{}
}

// The two curves are one: at the concentration of an upper limit of a percentile, the upper limit of the exceedance is what lies
// above that percentile.
func TestTheTwoCurvesAreOne(t *testing.T) {
	t.Parallel()
	for name, c := range curved() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c.options.Curves = true
			a, err := assessor.Group(c.group, c.options)
			require.NoError(t, err)
			for _, p := range a.Curves.Percentiles {
				if p.Fraction < 0.8 || p.Fraction > 0.97 {
					continue
				}
				c.group.Limit = &reading.Limit{Value: p.Upper}
				b, err := assessor.Group(c.group, c.options)
				require.NoError(t, err)
				require.InDelta(t, 1-p.Fraction, b.Exceedance.Upper, 2e-7)
			}
		})
	}
}

// Far away limits and readings at the ends of the range of numbers leave nothing that is not a number.
func TestCurvesAreFinite(t *testing.T) {
	t.Parallel()
	number := rapid.OneOf(rapid.Float64Range(1e-3, 1e3), rapid.Float64Range(1e-300, 1e300))
	rapid.Check(t, func(t *rapid.T) {
		g := group(number.Draw(t, "limit"), rapid.SliceOfN(number, 2, 9).Draw(t, "values")...)
		a, err := assessor.Group(g, assess.Options{Curves: true})
		if err != nil || a.Curves == nil {
			return
		}
		for _, p := range append(append([]report.CurvePoint{}, a.Curves.Percentiles...), a.Curves.Exceedances...) {
			require.Positive(t, p.Concentration)
			require.False(t, math.IsInf(p.Concentration, 0) || math.IsNaN(p.Fraction) || math.IsInf(p.Lower, 0) || math.IsInf(p.Upper, 0))
		}
		for i, p := range a.Curves.Density {
			require.False(t, math.IsInf(p.Density, 0) || math.IsNaN(p.Density) || p.Density < 0)
			require.True(t, i == 0 || p.Concentration > a.Curves.Density[i-1].Concentration)
		}
	})
}

func BenchmarkCurves(b *testing.B) {
	for _, c := range []struct {
		name  string
		group reading.Group
	}{{"exact", group(50, chrysene()...)}, {"censored", manganese()}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := assessor.Group(c.group, assess.Options{Curves: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
