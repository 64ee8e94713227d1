package posterior

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// everyDefault asks all that a default answer holds: limits of geometric mean, percentile, spread, arithmetic mean and exceedance, the
// upper 70 % limit of the 95th percentile, the probability that it is above the limit, and three band edges.
func everyDefault(b *testing.B, q *Quadrature, limit float64) float64 {
	b.Helper()
	z := numeric.NormalQuantile(0.95)
	sum := q.Above(z, limit)
	for _, edge := range []float64{0.1, 0.5, 1} {
		sum += q.Below(z, limit+math.Log(edge))
	}
	ask := func(v float64, err error) {
		if err != nil {
			b.Fatal(err)
		}
		sum += v
	}
	ask(q.Quantile(z, 0.7))
	for _, p := range []float64{0.05, 0.95} {
		ask(q.Quantile(0, p))
		ask(q.Quantile(z, p))
		ask(q.Spread(p))
		ask(q.LogMean(p))
		ask(q.Score(limit, p))
	}
	return sum
}

// BenchmarkQuadrature is the whole default answer for 20 readings, 8 of them below three reporting limits, and for other priors.
func BenchmarkQuadrature(b *testing.B) {
	nothing := []reading.Reading{reading.Under(0.1), reading.Under(0.1), reading.Under(0.2), reading.Under(0.2), reading.Under(0.5)}
	bounds := &BoundedPrior{0.01, 20, 1.05, 10}
	for _, c := range []struct {
		name     string
		readings []reading.Reading
		prior    Prior
		tau      float64
	}{
		{"reference", benchmarkReadings(), Prior{}, 0},
		{"measurement error", benchmarkReadings(), Prior{}, 0.2},
		{"informed", benchmarkReadings(), Prior{Informed: &InformedPrior{0.2, 2, 2.5, 1.3}}, 0},
		{"carried", benchmarkReadings(), Prior{Carried: &CarriedPrior{benchmarkReadings(), 0.5}}, 0},
		{"bounded", benchmarkReadings(), Prior{Bounded: bounds}, 0},
		{"bounded, all below", nothing, Prior{Bounded: bounds}, 0},
	} {
		b.Run(c.name, func(b *testing.B) {
			d := likelihood.NewData(c.readings, 1)
			b.ReportAllocs()
			for b.Loop() {
				q, err := New(d, c.prior, c.tau)
				require.NoError(b, err)
				sinkProbability = everyDefault(b, q, math.Log(benchmarkLimit))
			}
		})
	}
}

// BenchmarkQuadratureSetup is the posterior with its check marginal, that of sigma.
func BenchmarkQuadratureSetup(b *testing.B) {
	d := likelihood.NewData(benchmarkReadings(), 1)
	b.ReportAllocs()
	for b.Loop() {
		q, err := New(d, Prior{}, 0)
		require.NoError(b, err)
		sinkProbability = q.worst
	}
}

// BenchmarkQuadratureBelow is one more G(z, q) at a z that has been asked for.
func BenchmarkQuadratureBelow(b *testing.B) {
	q, err := New(likelihood.NewData(benchmarkReadings(), 1), Prior{}, 0)
	require.NoError(b, err)
	for b.Loop() {
		sinkProbability = q.Below(1.6448536269514722, 0.3)
	}
}

// BenchmarkQuadratureQuantile is one more quantile at a z that has been asked for.
func BenchmarkQuadratureQuantile(b *testing.B) {
	q, err := New(likelihood.NewData(benchmarkReadings(), 1), Prior{}, 0)
	require.NoError(b, err)
	for b.Loop() {
		sinkProbability, err = q.Quantile(1.6448536269514722, 0.95)
		require.NoError(b, err)
	}
}

var sinkProbability float64
