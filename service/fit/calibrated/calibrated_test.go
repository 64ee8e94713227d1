package calibrated

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// twentyReadings has three reporting limits and 40 % non-detects.
func twentyReadings() []reading.Reading {
	return samples.Mixed([]float64{0.31, 0.42, 0.55, 0.61, 0.74, 0.93, 1.1, 1.4, 1.9, 2.6, 3.7, 6.2}, 0.2, 0.2, 0.2, 0.5, 0.5, 0.5, 1, 1)
}

func mustCalibrate(tb require.TestingT, readings []reading.Reading) *Pivot {
	c, err := New(readings)
	require.NoError(tb, err)
	return c
}

// Quantile, Score, Spread and LogMean invert Below, SpreadBelow and LogMeanBelow.
func TestCalibratedLimitsInvertTheConfidence(t *testing.T) {
	t.Parallel()
	groups := [][]reading.Reading{
		twentyReadings(),
		samples.Mixed([]float64{3}, 1, 1, 1),
		{reading.At(1), reading.At(2), reading.Over(3), reading.Under(0.5), reading.Within(0.5, 0.9)},
		{reading.Within(1, 2), reading.Within(4, 7), reading.Within(2, 3), reading.Under(1.5)},
	}
	for _, g := range groups {
		c := mustCalibrate(t, g)
		for _, p := range []float64{0.001, 0.05, 0.3, 0.5, 0.7, 0.95, 0.9999} {
			q, err := c.Quantile(1.2, p)
			require.NoError(t, err)
			require.InDelta(t, p, c.Below(1.2, q), 1e-7)
			require.InDelta(t, 1-p, c.Above(1.2, q), 1e-7)
			z, err := c.Score(0.3, p)
			require.NoError(t, err)
			require.InDelta(t, p, c.Below(z, 0.3), 1e-7)
			s, err := c.Spread(p)
			require.NoError(t, err)
			require.InDelta(t, p, c.SpreadBelow(s), 1e-7)
			m, err := c.LogMean(p)
			require.NoError(t, err)
			require.InDelta(t, p, c.LogMeanBelow(m), 1e-7)
		}
	}
}

// drawLike draws the logs of a sample of fifteen with the reporting limit 0 and reduces them.
func drawLike(rng *rand.Rand, mu, sigma float64) likelihood.Data {
	readings := make([]reading.Reading, 15)
	for i := range readings {
		if y := mu + sigma*rng.NormFloat64(); y < 0 {
			readings[i] = reading.Under(1)
		} else {
			readings[i] = reading.At(math.Exp(y))
		}
	}
	return likelihood.NewData(readings, 1)
}

// Source: a parametric bootstrap, which knows nothing of the expansion: r is simulated with mu and sigma at the maximum constrained by
// the hypothesis. 20,000 draws have a standard error of up to 0.0035, four of which are allowed; both approximations are closer than that here.
func TestAdjustedRootAgreesWithSimulation(t *testing.T) {
	t.Parallel()
	c := mustCalibrate(t, samples.Mixed([]float64{1.1, 1.4, 1.7, 2.2, 2.6, 3.1, 4.1, 5.5, 7, 12}, 1, 1, 1, 1, 1))
	for name, test := range map[string]struct {
		hypothesis func(p likelihood.Profile, sigma float64) hypothesis
		value      func(c *Pivot, p float64) (float64, error)
	}{
		"percentile": {
			func(p likelihood.Profile, _ float64) hypothesis { return percentileFamily{p, 1.6449} },
			func(c *Pivot, p float64) (float64, error) { return c.Quantile(1.6449, p) },
		},
		"geometric mean": {
			func(p likelihood.Profile, _ float64) hypothesis { return percentileFamily{p, 0} },
			func(c *Pivot, p float64) (float64, error) { return c.Quantile(0, p) },
		},
		"mean": {
			func(p likelihood.Profile, sigma float64) hypothesis { return meanFamily{p, 0.5 * sigma} },
			(*Pivot).LogMean,
		},
	} {
		for _, p := range []float64{0.05, 0.3, 0.7, 0.95} {
			value, err := test.value(c, p)
			require.NoError(t, err)
			// The hypothesis on the standardized scale, and its place on that of ln reading.
			h := test.hypothesis(c.profile, c.sigma).tested((value - c.mu) / c.sigma)
			mu, sigma := c.mu+c.sigma*h.alpha/h.beta, c.sigma/h.beta
			rng := rand.New(rand.NewPCG(1, 5))
			var lower, total int
			for range 20_000 {
				s := drawLike(rng, mu, sigma)
				peak, err := likelihood.Maximize(s)
				if err != nil {
					continue
				}
				st, sp := s.Standardized(peak.Mu, peak.Sigma), peak.Standardized()
				sp.LogLikelihood = likelihood.Function{Data: &st}.At(0, 1).Value
				total++
				if test.hypothesis(likelihood.Profile{Data: &st, Peak: &sp}, peak.Sigma).tested((value-peak.Mu)/peak.Sigma).root <= h.root {
					lower++
				}
			}
			require.InDelta(t, p, float64(lower)/float64(total), 0.014, "%s at %v", name, p)
		}
	}
}

// A band that shrinks to a point tends to a value.
func TestCalibratedBandShrinksToAValue(t *testing.T) {
	t.Parallel()
	readings := twentyReadings()
	c := mustCalibrate(t, readings)
	want, err := c.Quantile(1.6449, 0.95)
	require.NoError(t, err)
	for i := range 12 {
		v := readings[i].Lower
		readings[i] = reading.Within(v*(1-1e-7), v*(1+1e-7))
	}
	got, err := mustCalibrate(t, readings).Quantile(1.6449, 0.95)
	require.NoError(t, err)
	require.InDelta(t, want, got, 0.02)
}

// The expectations that the adjustment rests on, against a sum over a fine lattice of outcomes.
func TestExpectationsAgreeWithASum(t *testing.T) {
	t.Parallel()
	r := reporting{
		readings: 7, low: []lowEnd{{-0.5, 0.4, 0.6}, {math.Inf(-1), math.Inf(-1), 0.4}},
		high: []highEnd{{1.3, 0.5}, {math.Inf(1), 0.5}},
	}
	e := r.expectation(0, 1)
	const alpha, beta = 0.4, 1.3
	var want covariance
	const step = 1e-3
	for y := -9 + step/2; y < 9; y += step {
		weight := step * numeric.NormalDensity(y)
		for _, l := range r.low {
			for _, h := range r.high {
				w := r.readings * l.share * h.share * weight
				a, b := outcome(y, l, h, 0, 1), outcome(y, l, h, alpha, beta)
				want.aa += w * a.A * b.A
				want.ab += w * a.A * b.B
				want.ba += w * a.B * b.A
				want.bb += w * a.B * b.B
				want.qa += w * a.A * (a.Value - b.Value)
				want.qb += w * a.B * (a.Value - b.Value)
			}
		}
	}
	got := e.covariance(alpha, beta)
	for i, pair := range [][2]float64{
		{want.aa, got.aa}, {want.ab, got.ab}, {want.ba, got.ba}, {want.bb, got.bb}, {want.qa, got.qa}, {want.qb, got.qb},
	} {
		require.InDelta(t, pair[0], pair[1], 1e-4, "%d", i)
	}
}

// outcome is the log-likelihood of a reading that comes out as y.
func outcome(y float64, l lowEnd, h highEnd, alpha, beta float64) likelihood.Surface {
	switch {
	case y < l.lower:
		return rangeTerm(math.Inf(-1), l.lower, alpha, beta)
	case y < l.upper:
		return rangeTerm(l.lower, l.upper, alpha, beta)
	case y > h.top:
		return rangeTerm(h.top, math.Inf(1), alpha, beta)
	}
	z := beta*y - alpha
	return likelihood.Surface{Value: math.Log(beta) - 0.5*z*z, A: z, B: 1/beta - z*y}
}

// Source: the product-limit estimate by hand. Limits 1 (3 non-detects) and 2 (1), values 1.5, 3 and 5. Limit 2: at risk are the 4
// non-detects and 1.5, so its share is 1/5; limit 1: all 3 at risk have it, so it takes the rest.
func TestSharesOfReportingLimits(t *testing.T) {
	t.Parallel()
	readings := samples.Mixed([]float64{1.5, 3, 5}, 1, 1, 1, 2)
	d := likelihood.NewData(readings, 1)
	r := reportingOf(&d, logsOf(readings))
	require.Len(t, r.low, 2)
	require.InDelta(t, 0.2, r.low[0].share, 1e-15)
	require.InDelta(t, 0.8, r.low[1].share, 1e-15)
	// A value under every limit says that some reading had none.
	readings = samples.Mixed([]float64{0.5, 3, 5}, 1, 1, 1)
	d = likelihood.NewData(readings, 1)
	r = reportingOf(&d, logsOf(readings))
	require.Equal(t, []float64{0.75, 0.25}, []float64{r.low[0].share, r.low[1].share})
}

// A band at a reporting limit is the range up to quantification; any other is a coarse reading.
func TestBandsAreToldApart(t *testing.T) {
	t.Parallel()
	readings := []reading.Reading{reading.Under(1), reading.Within(1, 3), reading.At(4), reading.At(6)}
	d := likelihood.NewData(readings, 1)
	r := reportingOf(&d, logsOf(readings))
	require.Zero(t, r.coarse)
	require.Len(t, r.low, 2)
	for _, l := range r.low {
		require.InDelta(t, 0, l.lower, 0)
		require.InDelta(t, math.Log(3), l.upper, 0)
	}
	readings = []reading.Reading{reading.Within(1, 3), reading.Within(2, 6), reading.At(2.5), reading.At(6)}
	d = likelihood.NewData(readings, 1)
	r = reportingOf(&d, logsOf(readings))
	require.InDelta(t, 0.5, r.coarse, 0)
	require.InDelta(t, math.Log(3), r.width, 1e-15)
}

// The whole set of one answer: upper and lower limits at 95 % of the five quantities, and the upper 70 % limit of a rule.
func BenchmarkCalibratedSet(b *testing.B) {
	readings := twentyReadings()
	b.ReportAllocs()
	for b.Loop() {
		c, err := New(readings)
		if err != nil {
			b.Fatal(err)
		}
		for _, p := range []float64{0.05, 0.95} {
			_, _ = c.Quantile(0, p)
			_, _ = c.Quantile(1.6449, p)
			_, _ = c.Score(1.5, p)
			_, _ = c.Spread(p)
			_, _ = c.LogMean(p)
		}
		_, _ = c.Quantile(1.6449, 0.7)
	}
}

func BenchmarkCalibratedLimit(b *testing.B) {
	c, err := New(twentyReadings())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		_, _ = c.Quantile(1.6449, 0.95)
	}
}
