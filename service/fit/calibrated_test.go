package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/calibrated"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/reading"
)

// narrow says whether calibrated readings differ by little more than rounding.
func narrow(readings []reading.Reading) bool {
	m, err := likelihood.Maximize(likelihood.NewData(readings, 1))
	return err == nil && !allDetected(readings) && m.Sigma < 1e-6
}

// With all readings detected the calibrated limits are the exact ones, bit for bit.
func TestCalibratedIsExactWithoutCensoring(t *testing.T) {
	t.Parallel()
	readings := samples.Mixed([]float64{0.2, 0.3, 0.7, 1.1, 4.2})
	p, err := Calibrated(readings, nil)
	require.NoError(t, err)
	f := Uncensored(readings, nil)
	want, err := f.Posterior.Quantile(1.5, 0.9)
	require.NoError(t, err)
	got, err := p.Quantile(1.5, 0.9)
	require.NoError(t, err)
	require.Equal(t, want, got)
}

// The adjustment itself, without the exact path, against the exact laws: noncentral t and chi-square (numeric), the latter also for
// sigma. Source of the tolerance: our own measurement; r* is an approximation of third order, good to 0.002 of probability
// at n = 10.
func TestAdjustedRootIsNearlyExactWithoutCensoring(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 1))
	for _, n := range []int{10, 20, 60} {
		readings := make([]reading.Reading, n)
		for i := range readings {
			readings[i] = reading.At(math.Exp(rng.NormFloat64()))
		}
		c, err := calibrated.New(readings)
		require.NoError(t, err)
		e := Uncensored(readings, nil).Posterior
		for _, p := range []float64{0.05, 0.3, 0.7, 0.95} {
			for _, z := range []float64{0, 1.6449} {
				q, err := e.Quantile(z, p)
				require.NoError(t, err)
				require.InDelta(t, p, c.Below(z, q), 0.06/float64(n), "n = %d, z = %v", n, z)
			}
			s, err := e.Spread(p)
			require.NoError(t, err)
			require.InDelta(t, p, c.SpreadBelow(s), 0.06/float64(n), "n = %d", n)
		}
	}
}

func TestCalibratedIgnoresOrderAndUnit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		first, err := Calibrated(readings, nil)
		shuffled := rapid.Permutation(readings).Draw(t, "order")
		second, again := Calibrated(shuffled, nil)
		require.Equal(t, err, again)
		if err != nil {
			return
		}
		if narrow(readings) {
			// Values that differ by rounding alone are another group after every change of unit.
			return
		}
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "p")
		a, err := first.Quantile(1.6449, p)
		require.NoError(t, err)
		b, err := second.Quantile(1.6449, p)
		require.NoError(t, err)
		require.Equal(t, math.Float64bits(a), math.Float64bits(b), "bits differ with the order")
		for i := range shuffled {
			shuffled[i].Lower, shuffled[i].Upper = shuffled[i].Lower*1024, shuffled[i].Upper*1024
		}
		third, err := Calibrated(shuffled, nil)
		require.NoError(t, err)
		b, err = third.Quantile(1.6449, p)
		require.NoError(t, err)
		require.InDelta(t, a, b-math.Log(1024), 1e-6*(1+math.Abs(a)))
	})
}

// Limits rise with the confidence, also where r* has a plateau.
func TestCalibratedLimitsAreMonotone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		p, err := Calibrated(readings, nil)
		if err != nil {
			return
		}
		if narrow(readings) {
			// Values that differ by rounding alone leave no digits to compare.
			return
		}
		z := rapid.Float64Range(0, 2.5).Draw(t, "z")
		q := rapid.Float64Range(-2, 2).Draw(t, "q")
		before := [4]float64{math.Inf(-1), math.Inf(-1), 0, math.Inf(-1)}
		for _, level := range []float64{0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99} {
			a, err := p.Quantile(z, level)
			require.NoError(t, err)
			b, err := p.Score(q, level)
			require.NoError(t, err)
			s, err := p.Spread(level)
			require.NoError(t, err)
			m, err := p.LogMean(level)
			require.NoError(t, err)
			now := [4]float64{a, -b, s, m}
			for i := range now {
				require.GreaterOrEqual(t, now[i], before[i], "limit %d at %v", i, level)
			}
			before = now
		}
	})
}

func TestCalibratedRefusals(t *testing.T) {
	t.Parallel()
	for name, readings := range map[string][]reading.Reading{
		"nothing":        nil,
		"all below":      samples.Mixed(nil, 1, 2, 3),
		"one value":      samples.Mixed([]float64{1}, 2),
		"only one-sided": {reading.Under(3), reading.Over(1), reading.Over(0.5), reading.Under(0.8)},
	} {
		_, err := Calibrated(readings, nil)
		var f *fault.Error
		require.ErrorAs(t, err, &f, name)
		require.Equal(t, fault.Undetermined, f.Code, name)
		require.NotEmpty(t, f.Text, name)
	}
}
