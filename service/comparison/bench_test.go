package comparison

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// lognormal draws n readings, those under the limit below it.
func lognormal(source *rand.Rand, n int, mu, sigma, limit float64) []reading.Reading {
	out := make([]reading.Reading, n)
	for i := range out {
		out[i] = reading.At(math.Exp(mu + sigma*source.NormFloat64()))
		if out[i].Lower < limit {
			out[i] = reading.Under(limit)
		}
	}
	return out
}

// BenchmarkCompare is two campaigns of 20 readings, fits included: 30 % of each below a limit, and none.
func BenchmarkCompare(b *testing.B) {
	for _, c := range []struct {
		name  string
		limit float64
	}{{"censored", math.Exp(-0.52)}, {"detected", 0}} {
		b.Run(c.name, func(b *testing.B) {
			source := rand.New(rand.NewPCG(1, 1))
			before, after := lognormal(source, 20, 0, 1, c.limit), lognormal(source, 20, -0.3, 1, c.limit*math.Exp(-0.3))
			q := 1.0
			b.ReportAllocs()
			for b.Loop() {
				f, g := fit.New(before, fit.Options{}), fit.New(after, fit.Options{})
				_, err := Compare([]Campaign{{"a", before, &f}, {"b", after, &g}}, Options{LogLimit: &q, Reduction: 0.5})
				require.NoError(b, err)
			}
		})
	}
}
