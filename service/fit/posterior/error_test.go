package posterior

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/tailbound/service/fit/likelihood"
	"github.com/stretchr/testify/require"
)

// randomPrior is a prior of every kind in turn, with a measurement error now and then; e is its spread.
func randomPrior(rng *rand.Rand, trial int, mu, sigma float64) (p Prior, e float64) {
	switch trial % 6 {
	case 1:
		e = sigma * math.Exp(2*rng.Float64()-2)
	case 2:
		p.Bounded = &BoundedPrior{
			math.Exp(mu - sigma*(0.1+5*rng.Float64())), math.Exp(mu + sigma*(0.1+5*rng.Float64())),
			math.Exp(sigma * (0.05 + 0.8*rng.Float64())), math.Exp(sigma * (1 + 3*rng.Float64())),
		}
	case 3:
		p.Informed = &InformedPrior{
			math.Exp(mu + sigma*rng.NormFloat64()), math.Exp(sigma * (0.2 + 2*rng.Float64())),
			math.Exp(sigma * math.Exp(0.5*rng.NormFloat64())), math.Exp(0.05 + rng.Float64()),
		}
	case 4:
		earlier, _, _ := properReadings(rng)
		p.Carried = &CarriedPrior{Readings: earlier, Weight: 0.1 + 0.9*rng.Float64()}
	case 5:
		e = 0.3 * sigma
		p.Bounded = &BoundedPrior{math.Exp(mu - 3*sigma), math.Exp(mu + 3*sigma), math.Exp(0.1 * sigma), math.Exp(3 * sigma)}
	}
	return p, e
}

// The estimate of the numerical error bounds what twice the nodes change, for every kind of prior, and is itself as small as
// promised.
func TestQuadratureDoubling(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(4, 1963))
	for trial := range 90 {
		readings, mu, sigma := properReadings(rng)
		p, e := randomPrior(rng, trial, mu, sigma)
		require.NoError(t, p.Check())
		coarse, err := New(likelihood.NewData(readings, 1), p, e)
		require.NoError(t, err, "trial %d", trial)
		fine, err := newFine(likelihood.NewData(readings, 1), p, e, 2)
		require.NoError(t, err, "trial %d", trial)
		for _, ask := range questions(mu + sigma*(5*rng.Float64()-1)) {
			for _, level := range []float64{0.001, 0.05, 0.5, 0.7, 0.95, 0.999} {
				v, err := ask.answer(coarse, level)
				require.NoError(t, err, "trial %d, %s", trial, ask.name)
				again, err := ask.below(fine, v)
				require.NoError(t, err, "trial %d, %s", trial, ask.name)
				require.InDelta(t, level, again, coarse.NumericalError()+fine.NumericalError(), "trial %d, %s", trial, ask.name)
			}
		}
		require.Positive(t, coarse.NumericalError())
		require.LessOrEqual(t, coarse.NumericalError(), mismatchBound)
	}
}

// A posterior that cannot be integrated is an error, never a number: the failure is shown by a bound that nothing meets.
func TestQuadratureFailure(t *testing.T) {
	t.Parallel()
	q, err := New(likelihood.NewData(benchmarkReadings(), 1), Prior{}, 0)
	require.NoError(t, err)
	q.spread.scale += 1
	_, err = q.Quantile(0, 0.5)
	require.ErrorIs(t, err, errMismatch)
	require.True(t, math.IsNaN(q.Below(0, 0)))
	require.True(t, math.IsNaN(q.Above(0, 0)))
	_, err = q.Score(0, 0.5)
	require.Error(t, err)
	_, err = q.LogMean(0.5)
	require.Error(t, err)
}
