package posterior

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// priorOf is the prior of a row of posterior.csv.
func priorOf(tb testing.TB, r reference.Row, limit float64) Prior {
	tb.Helper()
	if r["prior"] == "invsigma" {
		return Prior{}
	}
	relative := map[string]float64{"lnL-9": -9, "lnL-5": -5, "lnL+3": 3, "lnL+1": 1}
	require.Contains(tb, relative, r["mu_lo"])
	require.Contains(tb, relative, r["mu_hi"])
	return Prior{Bounded: &BoundedPrior{
		GeometricMeanLower:              limit * math.Exp(relative[r["mu_lo"]]),
		GeometricMeanUpper:              limit * math.Exp(relative[r["mu_hi"]]),
		GeometricStandardDeviationLower: math.Exp(r.Float(tb, "sg_lo")),
		GeometricStandardDeviationUpper: math.Exp(r.Float(tb, "sg_hi")),
	}}
}

// benchmarkReadings are 20 readings, 8 of them below three reporting limits.
func benchmarkReadings() []reading.Reading {
	var out []reading.Reading
	for _, v := range []float64{0.12, 0.31, 0.08, 0.55, 0.22, 0.19, 0.41, 0.95, 0.27, 0.16, 0.36, 0.65} {
		out = append(out, reading.At(v))
	}
	for _, v := range []float64{0.05, 0.05, 0.05, 0.1, 0.1, 0.1, 0.2, 0.2} {
		out = append(out, reading.Under(v))
	}
	return out
}

// benchmarkLimit is a limit for them, far above the geometric mean as most are.
const benchmarkLimit = 1.5

// randomReadings draws a group of any mixture; mu and sigma are those of the logs.
func randomReadings(rng *rand.Rand) (out []reading.Reading, mu, sigma float64) {
	n := 4 + rng.IntN(30)
	sigma, mu = math.Exp(rng.Float64()*4-3), rng.Float64()*20-10
	share := 0.7 * rng.Float64()
	limits := make([]float64, 1+rng.IntN(4))
	for i := range limits {
		limits[i] = math.Exp(mu + sigma*(numeric.NormalQuantile(0.01+share)+0.5*rng.NormFloat64()))
	}
	for range n {
		x := math.Exp(mu + sigma*rng.NormFloat64())
		limit := limits[rng.IntN(len(limits))]
		switch rng.IntN(12) {
		case 0:
			out = append(out, reading.Within(x*math.Exp(-sigma*rng.Float64()), x*math.Exp(sigma*rng.Float64()+1e-9)))
		case 1:
			out = append(out, reading.Over(min(x, math.Exp(mu+sigma))))
		default:
			if x < limit {
				out = append(out, reading.Under(limit))
				continue
			}
			out = append(out, reading.At(x))
		}
	}
	return out, mu, sigma
}

// properReadings draws until the reference posterior is proper.
func properReadings(rng *rand.Rand) (out []reading.Reading, mu, sigma float64) {
	for {
		out, mu, sigma = randomReadings(rng)
		d := likelihood.NewData(out, 1)
		if ok, _ := likelihood.ProperUnderReference(&d); ok {
			return out, mu, sigma
		}
	}
}

// asked is a question to a posterior whose answer is at level p; below is the probability of the answer again.
type asked struct {
	name   string
	answer func(q *Quadrature, p float64) (float64, error)
	below  func(q *Quadrature, v float64) (float64, error)
}

// questions are one of each kind.
func questions(limit float64) []asked {
	percentile := func(name string, z float64) asked {
		return asked{
			name,
			func(q *Quadrature, p float64) (float64, error) { return q.Quantile(z, p) },
			func(q *Quadrature, v float64) (float64, error) { return q.Below(z, v), nil },
		}
	}
	return []asked{
		percentile("geometric mean", 0), percentile("95th percentile", numeric.NormalQuantile(0.95)),
		{
			"spread", (*Quadrature).Spread,
			func(q *Quadrature, v float64) (float64, error) { return q.spread.below(math.Log(v)), nil },
		},
		{
			"mean", (*Quadrature).LogMean,
			func(q *Quadrature, v float64) (float64, error) {
				m, err := q.of(MeanKind, 0)
				if err != nil {
					return 0, err
				}
				return m.below(v - q.f.origin), nil
			},
		},
		{
			"score", func(q *Quadrature, p float64) (float64, error) { return q.Score(limit, p) },
			func(q *Quadrature, v float64) (float64, error) {
				m, err := q.of(ScoreKind, limit-q.f.origin)
				if err != nil {
					return 0, err
				}
				return m.above(v), nil
			},
		},
	}
}
