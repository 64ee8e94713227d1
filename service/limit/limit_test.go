package limit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

func fitted(values ...float64) *fit.Fit {
	readings := make([]reading.Reading, len(values))
	for i, v := range values {
		readings[i] = reading.At(v)
	}
	f := fit.Uncensored(readings, nil)
	return &f
}

// Source: exceedance_limits.csv, 55-digit arithmetic, re-checked there with a second method. k = (ln L - mean)/s, so a fit
// with mean 0 and standard deviation 1 has ln L = k.
func TestExceedanceLimitsTable(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for _, row := range reference.Rows(t, "exceedance_limits.csv") {
		f := fit.FromMoments(row.Int(t, "n"), 0, 1)
		for confidence, columns := range map[float64][2]string{0.70: {"lcl_70", "ucl_70"}, 0.90: {"lcl_90", "ucl_90"}, 0.95: {"lcl_95", "ucl_95"}} {
			b, err := Exceedance(&f, row.Float(t, "k"), confidence)
			require.NoError(t, err)
			require.InEpsilon(t, row.Float(t, "plug_in"), b.Estimate, 1e-13)
			worst = max(worst, relative(b.Lower, row.Float(t, columns[0])), relative(b.Upper, row.Float(t, columns[1])))
		}
	}
	t.Logf("worst relative error of an exceedance limit: %.2g", worst)
	require.LessOrEqual(t, worst, 1e-10)
}

func relative(got, want float64) float64 { return math.Abs(got/want - 1) }

// Sources: USEPA Unified Guidance EPA 530/R-09-007 (2009), examples 17-3 (chrysene) and 21-4 (aldicarb, normal scale).
func TestPercentileLimitsOfHandbookExamples(t *testing.T) {
	t.Parallel()
	chrysene := fitted(19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7)
	require.InDelta(t, 2.5085773, chrysene.Mu, 5e-8)
	require.InDelta(t, 0.6279479, chrysene.Sigma, 5e-8)
	b, err := Percentile(chrysene, 0.95, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 34.51727, b.Estimate, 5e-6)
	require.InDelta(t, 90.9247, b.Upper, 5e-5)

	// Aldicarb is judged on the normal scale, so the logs are the readings.
	wells := []struct {
		mean, sd, lower, upper, tolerance float64
		x                                 [4]float64
	}{
		{x: [4]float64{19.9, 29.6, 18.7, 24.2}, lower: 25.28550, upper: 67.92601, tolerance: 5e-6},
		{x: [4]float64{23.7, 21.9, 26.9, 26.1}, lower: 25.66, upper: 45.38, tolerance: 5e-3},
		{x: [4]float64{5.6, 3.3, 2.3, 6.9}, lower: 5.46, upper: 23.61, tolerance: 5e-3},
	}
	for _, w := range wells {
		f := fitted(math.Exp(w.x[0]), math.Exp(w.x[1]), math.Exp(w.x[2]), math.Exp(w.x[3]))
		b, err := Percentile(f, 0.95, 0.99)
		require.NoError(t, err)
		require.InDelta(t, w.lower, math.Log(b.Lower), w.tolerance)
		require.InDelta(t, w.upper, math.Log(b.Upper), w.tolerance)
	}
}

// airLead is NIOSH HETA 89-052, 15 areas, µg/m³, as used by Krishnamoorthy, Mathew and Ramachandran (2006), J Occup Environ
// Hyg 3:642. The paper's mean 4.333 and standard deviation 1.739 of ln reading are from memory; the limits were computed with
// SciPy and mpmath.
func airLead() *fit.Fit {
	return fitted(200, 120, 15, 7, 8, 6, 48, 61, 380, 80, 29, 1000, 350, 1400, 110)
}

func TestAirLead(t *testing.T) {
	t.Parallel()
	f := airLead()
	require.InDelta(t, 4.333, f.Mu, 5e-4)
	require.InDelta(t, 1.739, f.Sigma, 5e-4)
	for confidence, want := range map[float64][2]float64{0.70: {992.618, 2135.6956}, 0.90: {638.217, 4376.3860}, 0.95: {528.767, 6609.5283}} {
		b, err := Percentile(f, 0.95, confidence)
		require.NoError(t, err)
		require.InDelta(t, want[0], b.Lower, 5e-4)
		require.InDelta(t, want[1], b.Upper, 5e-5)
	}
	cases := []struct{ limit, estimate, lower, upper float64 }{
		{50, .595586, .423304, .748228}, {500, .139668, .054049, .299001}, {1000, .069397, .018511, .200587},
	}
	for _, c := range cases {
		b, err := Exceedance(f, math.Log(c.limit), 0.95)
		require.NoError(t, err)
		require.InDelta(t, c.estimate, b.Estimate, 5e-7)
		require.InDelta(t, c.lower, b.Lower, 5e-7)
		require.InDelta(t, c.upper, b.Upper, 5e-7)
	}
}

// Percentile and exceedance limits are two readings of one function: at L = the upper limit of the 95th percentile the upper
// limit of the exceedance is 5 %.
func TestPercentileAndExceedanceAreDual(t *testing.T) {
	t.Parallel()
	f := airLead()
	b, err := Percentile(f, 0.95, 0.95)
	require.NoError(t, err)
	e, err := Exceedance(f, math.Log(b.Upper), 0.95)
	require.NoError(t, err)
	require.InDelta(t, 0.05, e.Upper, 1e-13)
	e, err = Exceedance(f, math.Log(b.Lower), 0.95)
	require.NoError(t, err)
	require.InDelta(t, 0.05, e.Lower, 1e-13)
}

// Source: posterior.csv, double-precision quadrature whose uncensored rows agree with closed forms to 3e-14. It holds the
// reference prior 1/sigma for U samples; ln GM is Student's t, ln GSD chi-square, ln P95 noncentral t.
func TestUncensoredPosteriorRows(t *testing.T) {
	t.Parallel()
	var samples []struct {
		ID    string  `json:"id"`
		Limit float64 `json:"limit"`
		Obs   []struct {
			Value float64 `json:"value"`
			Kind  string  `json:"kind"`
		} `json:"obs"`
	}
	reference.JSON(t, "censored_samples.json", &samples)
	fits, limits := map[string]*fit.Fit{}, map[string]float64{}
	for _, s := range samples {
		values := make([]float64, len(s.Obs))
		exact := true
		for i, o := range s.Obs {
			values[i] = o.Value
			exact = exact && o.Kind == "exact"
		}
		if exact {
			fits[s.ID], limits[s.ID] = fitted(values...), s.Limit
		}
	}
	checked := 0
	for _, row := range reference.Rows(t, "posterior.csv") {
		f := fits[row["id"]]
		if f == nil || row["prior"] != "invsigma" || row["quantity"] == "p95_bands" {
			continue
		}
		for column, p := range map[string]float64{"q05": 0.05, "q30": 0.30, "q50": 0.50, "q70": 0.70, "q95": 0.95} {
			got, err := posteriorQuantile(f, row["quantity"], limits[row["id"]], p)
			require.NoError(t, err, "%s %s %s", row["id"], row["quantity"], column)
			want := row.Float(t, column)
			require.InDelta(t, want, got, 1e-11*max(1, math.Abs(want)), "%s %s %s", row["id"], row["quantity"], column)
			checked++
		}
	}
	require.GreaterOrEqual(t, checked, 100)
}

func posteriorQuantile(f *fit.Fit, quantity string, limit, p float64) (float64, error) {
	switch quantity {
	case "ln_gm":
		return f.Posterior.Quantile(0, p)
	case "ln_gsd":
		return f.Posterior.Spread(p)
	case "ln_p95":
		return f.Posterior.Quantile(numeric.NormalQuantile(0.95), p)
	case "ln_am":
		return f.Posterior.LogMean(p)
	default:
		z, err := f.Posterior.Score(math.Log(limit), p)
		return numeric.NormalSurvival(z), err
	}
}
