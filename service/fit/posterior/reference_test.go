package posterior

import (
	"maps"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/numeric"
)

// Tolerances against posterior.csv. The issue asks for 1e-6 relative on quantiles and 1e-7 on probabilities.
const (
	// referenceQuantile is relative to the larger of 1 and the value: the tables hold logarithms and ln GSD.
	referenceQuantile = 1e-7
	// referenceExceedance is relative, down to fractions of 1e-300.
	referenceExceedance  = 1e-6
	referenceProbability = 1e-8
)

// posteriors returns the posterior of each sample and prior of posterior.csv, with the limit of the sample.
func posteriors(t *testing.T) func(r reference.Row) (*Quadrature, float64) {
	t.Helper()
	groups := samples.Groups(t, "censored_samples.json")
	maps.Copy(groups, samples.Groups(t, "degenerate_samples.json"))
	known := map[string]*Quadrature{}
	return func(r reference.Row) (*Quadrature, float64) {
		s := groups[r["id"]]
		require.NotNil(t, s, r["id"])
		key := r["id"] + r["prior"]
		if known[key] == nil {
			q, err := New(likelihood.NewData(s.Readings(t), 1), priorOf(t, r, s.Limit), 0)
			require.NoError(t, err, key)
			known[key] = q
		}
		return known[key], math.Log(s.Limit)
	}
}

// Source: testdata/reference/posterior.csv, composite Gauss-Legendre over (ln sigma, mu), its header says how; 82 samples and priors,
// 492 rows.
func TestQuadratureReference(t *testing.T) {
	t.Parallel()
	posterior := posteriors(t)
	z := numeric.NormalQuantile(0.95)
	levels := map[string]float64{"q05": 0.05, "q30": 0.3, "q50": 0.5, "q70": 0.7, "q95": 0.95}
	rows := reference.Rows(t, "posterior.csv")
	require.Len(t, rows, 492)
	for _, r := range rows {
		q, limit := posterior(r)
		name := r["id"] + " " + r["prior"] + " " + r["quantity"]
		if r["quantity"] == "p95_bands" {
			checkBands(t, q, r, limit)
			continue
		}
		for column, p := range levels {
			want := r.Float(t, column)
			var got float64
			var err error
			tolerance := referenceQuantile * max(1, math.Abs(want))
			switch r["quantity"] {
			case "ln_gm":
				got, err = q.Quantile(0, p)
			case "ln_p95":
				got, err = q.Quantile(z, p)
			case "ln_gsd":
				got, err = q.Spread(p)
			case "ln_am":
				got, err = q.LogMean(p)
			case "exceedance":
				// The exceedance rises as the score falls, and the score falls as its level rises.
				got, err = q.Score(limit, p)
				got = numeric.NormalSurvival(got)
				tolerance = referenceExceedance * want
			}
			require.NoError(t, err, name)
			require.InDelta(t, want, got, tolerance, "%s at %v", name, p)
		}
		require.LessOrEqual(t, q.NumericalError(), mismatchBound, name)
	}
}

func checkBands(t *testing.T, q *Quadrature, r reference.Row, limit float64) {
	t.Helper()
	z := numeric.NormalQuantile(0.95)
	before := 0.0
	for i, edge := range []float64{0.1, 0.5, 1} {
		below := q.Below(z, limit+math.Log(edge))
		require.InDelta(t, r.Float(t, []string{"q05", "q30", "q50"}[i]), below-before, referenceProbability, "%v", r)
		before = below
	}
	require.InDelta(t, r.Float(t, "q70"), q.Above(z, limit), referenceProbability, "%v", r)
}

// Source: reference/REPORT.md, "When the 1/sigma posterior is proper": improper for these samples.
func TestQuadratureRefusesImproper(t *testing.T) {
	t.Parallel()
	groups := samples.Groups(t, "degenerate_samples.json")
	groups["S08"] = samples.Groups(t, "censored_samples.json")["S08"]
	for _, id := range []string{"S08", "D01", "D02", "D03", "D04", "D05", "D06", "D07", "D08", "D09", "D10"} {
		_, err := New(likelihood.NewData(groups[id].Readings(t), 1), Prior{}, 0)
		require.Error(t, err, id)
		require.Equal(t, fault.Undetermined, fault.CodeOf(err), id)
		require.Contains(t, err.Error(), "prior", id)
	}
}
