package posterior

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// slack is what the probabilities of two marginals may differ by.
const slack = 2 * 1e-8

func TestQuadratureMonotone(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(7, 8))
	for trial := range 12 {
		readings, mu, sigma := properReadings(rng)
		p, e := randomPrior(rng, trial, mu, sigma)
		q, err := New(likelihood.NewData(readings, 1), p, e)
		require.NoError(t, err)
		at := mu + 2*sigma
		before := 2.0
		for z := -2.0; z <= 6; z += 0.5 {
			g := q.Below(z, at)
			require.LessOrEqual(t, g, before+slack, "G(z, q) falls as z rises")
			require.InDelta(t, 1, g+q.Above(z, at), 1e-15)
			before = g
		}
		for _, z := range []float64{0, numeric.NormalQuantile(0.95)} {
			before := -1.0
			for x := -6.0; x <= 12; x += 0.25 {
				g := q.Below(z, mu+x*sigma)
				// The series ripples by the terms left out.
				require.GreaterOrEqual(t, g, before-q.NumericalError(), "G(z, q) rises with q")
				require.True(t, g >= 0 && g <= 1)
				before = g
			}
		}
		for _, ask := range questions(at) {
			last := math.Inf(-1)
			for _, level := range []float64{1e-4, 0.01, 0.05, 0.3, 0.5, 0.7, 0.95, 0.99, 0.9999} {
				v, err := ask.answer(q, level)
				require.NoError(t, err)
				if ask.name == "score" {
					v = -v
				}
				require.Greater(t, v, last, "%s is monotone in the level", ask.name)
				last = v
			}
		}
	}
}

// G(z, q) is read along q by Quantile and along z by Score, which integrate along different curves.
func TestQuadratureDuality(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 10))
	for trial := range 24 {
		readings, mu, sigma := properReadings(rng)
		p, e := randomPrior(rng, trial, mu, sigma)
		q, err := New(likelihood.NewData(readings, 1), p, e)
		require.NoError(t, err)
		at := mu + sigma*(6*rng.Float64()-1)
		for _, level := range []float64{0.05, 0.5, 0.95} {
			z, err := q.Score(at, level)
			require.NoError(t, err)
			require.InDelta(t, level, q.Below(z, at), slack, "trial %d", trial)
		}
	}
}

func TestQuadratureScaling(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(21, 22))
	for range 20 {
		readings, mu, sigma := properReadings(rng)
		q, err := New(likelihood.NewData(readings, 1), Prior{}, 0)
		require.NoError(t, err)
		for _, factor := range []float64{1e-9, 24.45, 1e7} {
			scaled := make([]reading.Reading, len(readings))
			for i, r := range readings {
				r.Lower *= factor
				r.Upper *= factor
				scaled[i] = r
			}
			s, err := New(likelihood.NewData(scaled, 1), Prior{}, 0)
			require.NoError(t, err)
			z, at := numeric.NormalQuantile(0.95), mu+2*sigma
			require.InDelta(t, q.Above(z, at), s.Above(z, at+math.Log(factor)), 1e-9)
			a, err := q.Quantile(z, 0.95)
			require.NoError(t, err)
			b, err := s.Quantile(z, 0.95)
			require.NoError(t, err)
			require.InDelta(t, a+math.Log(factor), b, 1e-8*max(1, math.Abs(b)))
			a, err = q.Score(at, 0.95)
			require.NoError(t, err)
			b, err = s.Score(at+math.Log(factor), 0.95)
			require.NoError(t, err)
			require.InDelta(t, a, b, 1e-8*max(1, math.Abs(b)))
		}
	}
}

// answers are all that is asked of one posterior, bit for bit.
func answers(t *testing.T, q *Quadrature) []uint64 {
	t.Helper()
	var out []uint64
	for _, ask := range questions(0.4) {
		for _, p := range []float64{0.05, 0.7, 0.95} {
			v, err := ask.answer(q, p)
			require.NoError(t, err)
			out = append(out, math.Float64bits(v))
		}
	}
	return append(out, math.Float64bits(q.Above(1.6, 0.4)))
}

func TestQuadratureOrderNeverMatters(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(31, 32))
	for trial := range 12 {
		readings, mu, sigma := properReadings(rng)
		p, e := randomPrior(rng, trial, mu, sigma)
		q, err := New(likelihood.NewData(readings, 1), p, e)
		require.NoError(t, err)
		want := answers(t, q)
		rng.Shuffle(len(readings), func(i, j int) { readings[i], readings[j] = readings[j], readings[i] })
		if p.Carried != nil {
			r := p.Carried.Readings
			rng.Shuffle(len(r), func(i, j int) { r[i], r[j] = r[j], r[i] })
		}
		again, err := New(likelihood.NewData(readings, 1), p, e)
		require.NoError(t, err)
		// Nor does the order of the questions.
		_, err = again.LogMean(0.5)
		require.NoError(t, err)
		require.Equal(t, want, answers(t, again), "trial %d", trial)
	}
}

func TestQuadratureConcurrent(t *testing.T) {
	t.Parallel()
	d := likelihood.NewData(benchmarkReadings(), 1)
	one, err := New(d, Prior{}, 0)
	require.NoError(t, err)
	want := answers(t, one)
	shared, err := New(d, Prior{}, 0)
	require.NoError(t, err)
	var group sync.WaitGroup
	got := make([][]uint64, 8)
	for i := range got {
		group.Go(func() {
			got[i] = answers(t, shared)
			_ = shared.NumericalError()
		})
	}
	group.Wait()
	for _, g := range got {
		require.Equal(t, want, g)
	}
}

// A band that shrinks to a point tends to a value.
func TestQuadratureNarrowBandIsValue(t *testing.T) {
	t.Parallel()
	values := []float64{0.3, 0.7, 1.1, 1.9, 4.2}
	exact := make([]reading.Reading, len(values))
	for i, v := range values {
		exact[i] = reading.At(v)
	}
	want, err := New(likelihood.NewData(exact, 1), Prior{}, 0)
	require.NoError(t, err)
	for _, width := range []float64{1e-3, 1e-5, 1e-7} {
		bands := append([]reading.Reading{}, exact...)
		for i := range 2 {
			v := values[i]
			bands[i] = reading.Within(v*math.Exp(-width), v*math.Exp(width))
		}
		q, err := New(likelihood.NewData(bands, 1), Prior{}, 0)
		require.NoError(t, err)
		for _, ask := range questions(2) {
			for _, p := range []float64{0.05, 0.5, 0.95} {
				v, err := ask.answer(q, p)
				require.NoError(t, err)
				below, err := ask.below(want, v)
				require.NoError(t, err)
				require.InDelta(t, p, below, max(width*width, slack), "%s, width %v", ask.name, width)
			}
		}
	}
}

// Readings that hardly differ, with a limit far away, leave no digit to lose.
func TestQuadratureTightReadings(t *testing.T) {
	t.Parallel()
	for _, gap := range []float64{1e-3, 1e-5, 1e-7, 1e-9} {
		readings := []reading.Reading{
			reading.At(10), reading.At(10 * (1 + gap)), reading.At(10 * (1 - 2*gap)), reading.At(10 * (1 + 3*gap)), reading.Under(10),
			reading.Under(9),
		}
		q, err := New(likelihood.NewData(readings, 1), Prior{}, 0)
		require.NoError(t, err)
		for _, limit := range []float64{1e-2, 9.9, 10.1, 1e4} {
			for _, ask := range questions(math.Log(limit)) {
				for _, p := range []float64{0.05, 0.95} {
					v, err := ask.answer(q, p)
					require.NoError(t, err, "%s, gap %v, limit %v", ask.name, gap, limit)
					require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
				}
			}
		}
	}
}
