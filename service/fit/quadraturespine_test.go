package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// The spine of the project: on uncensored data the quadrature is the noncentral t. Source: the exact posterior of exact.go, whose
// noncentral t is checked against 40-digit tables in package numeric.
func TestQuadratureIsNoncentralT(t *testing.T) {
	t.Parallel()
	const probability = 1e-8
	rng := rand.New(rand.NewPCG(689, 2018))
	for trial := range 150 {
		n := 3 + rng.IntN(198)
		if trial < 50 {
			n = 3 + trial%8
		}
		sigma, mu := math.Exp(rng.Float64()*6-4), rng.Float64()*40-20
		readings := make([]reading.Reading, n)
		for i := range readings {
			readings[i] = reading.At(math.Exp(mu + sigma*rng.NormFloat64()))
		}
		d := likelihood.NewData(readings, 1)
		sd := math.Sqrt(d.Squares / float64(n-1))
		q, err := posterior.New(d, posterior.Prior{}, 0)
		require.NoError(t, err)
		e := newExact(n, d.Mean, sd, nil)
		for _, z := range []float64{0, 0.3, numeric.NormalQuantile(0.95), 3.09, -1} {
			for _, p := range []float64{1e-4, 0.05, 0.3, 0.5, 0.7, 0.95, 0.9999} {
				want, err := e.Quantile(z, p)
				require.NoError(t, err)
				require.InDelta(t, p, q.Below(z, want), probability, "n = %d, z = %v", n, z)
				require.InDelta(t, 1-p, q.Above(z, want), probability, "n = %d, z = %v", n, z)
				got, err := q.Quantile(z, p)
				require.NoError(t, err)
				require.InDelta(t, p, e.Below(z, got), probability, "n = %d, z = %v", n, z)
			}
		}
		for _, distance := range []float64{-1, 0, 2, 5, 20} {
			limit := d.Mean + distance*sd
			for _, p := range []float64{1e-4, 0.05, 0.5, 0.95, 0.9999} {
				score, err := q.Score(limit, p)
				require.NoError(t, err)
				require.InDelta(t, p, e.Below(score, limit), probability, "n = %d, limit at %v", n, distance)
			}
		}
		for _, p := range []float64{1e-4, 0.05, 0.5, 0.95, 0.9999} {
			spread, err := q.Spread(p)
			require.NoError(t, err)
			nu := float64(n - 1)
			require.InDelta(t, p, numeric.ChiSquareSurvival(nu, d.Squares/(spread*spread)), probability, "n = %d", n)
		}
	}
}

// The log of the arithmetic mean against the one-dimensional integral of package numeric/logmean.
func TestQuadratureLogMeanUncensored(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(12, 5))
	for _, n := range []int{3, 4, 6, 10, 30, 100} {
		for _, sigma := range []float64{0.1, 0.7, 2} {
			readings := make([]reading.Reading, n)
			for i := range readings {
				readings[i] = reading.At(math.Exp(sigma * rng.NormFloat64()))
			}
			d := likelihood.NewData(readings, 1)
			q, err := posterior.New(d, posterior.Prior{}, 0)
			require.NoError(t, err)
			e := newExact(n, d.Mean, math.Sqrt(d.Squares/float64(n-1)), nil)
			for _, p := range []float64{0.01, 0.05, 0.5, 0.95, 0.99} {
				want, err := e.LogMean(p)
				require.NoError(t, err)
				l, err := q.Law(posterior.MeanKind, 0)
				require.NoError(t, err)
				below, _ := l.At(want)
				require.InDelta(t, p, below, 1e-8, "n = %d, sigma = %v", n, sigma)
			}
		}
	}
}
