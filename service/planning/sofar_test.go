package planning

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

func pooledOf(tb testing.TB, p *Planner, rule decision.Rule, s SoFar, logLimit float64, k int) Chances {
	tb.Helper()
	c, err := p.Pooled(rule, s, logLimit, k)
	require.NoError(tb, err)
	return c
}

// midpoints integrates a question without knowing where its band opens, on so many points that it need not.
func (p *pooled) midpoints(q question) float64 {
	const points = 8000
	sum := 0.0
	for i := range points {
		sin, cos := math.Sincos(math.Pi * ((float64(i)+0.5)/points - 0.5))
		if b := q.band(sin, cos); open(b) {
			sum += p.density(cos) * q.worth(b, sin, cos)
		}
	}
	return sum * math.Pi / points
}

// From the second new reading on the integrand is continuous, so that plain midpoints come within 1e-5; with 6 or more
// their own error is that of a smooth integrand, about the square of the spacing, 2e-7.
func TestPooledIntegralAgainstMidpoints(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, n0 := range []int{2, 3, 7, 25} {
		for _, k := range []int{2, 3, 6, 20} {
			for _, limit := range []float64{-0.3, 0.6, 1.9, 3} {
				s, err := Observed(n0, 0, 0.9, -3)
				require.NoError(t, err)
				law := newPooled(s, limit, k)
				tolerance := 1e-5
				if k > 5 {
					tolerance = 2e-7
				}
				for _, factor := range []float64{p.of(n0 + k).factors().lower, p.of(n0 + k).ut(), p.of(n0 + k).upper} {
					q := law.limitQuestion(factor)
					require.InDelta(t, law.midpoints(q), law.chance(q), tolerance)
				}
				q := law.quietQuestion(p.law(k), p.of(n0+k).ut())
				require.InDelta(t, law.midpoints(q), law.chance(q), tolerance)
			}
		}
	}
}

// allBelow is the predictive chance that n new readings all lie below e^q: the largest of n normal scores has the density
// n phi(z) Phi(z)^(n-1), and G(z, q) is the chance that a reading of score z lies below.
func allBelow(posterior fit.Posterior, q float64, n int) float64 {
	const reach, step = 8.5, 0.125
	sum, weight := 0.0, 0.0
	for z := -reach; z <= reach; z += step {
		w := numeric.NormalDensity(z) * math.Exp(float64(n-1)*numeric.LogNormalCDF(z))
		sum, weight = sum+w*posterior.Below(z, q), weight+w
	}
	return clamp(sum / weight)
}

// That none of k new readings is above the limit is computed in two ways that share nothing: through the law of the largest
// studentized deviate, and by the posterior function G at the largest of k normal scores. The tolerance is the error stated
// for Pooled; the worst row is off by 1.3e-9.
func TestNoneAboveTheLimitInTwoWays(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, n0 := range []int{2, 3, 6, 15, 40} {
		for _, k := range []int{1, 2, 3, 4, 5, 8, 12, 18, 40} {
			for _, limit := range []float64{-0.5, 0.7, 2, 4} {
				s, err := Observed(n0, 0.1, 0.8, -3)
				require.NoError(t, err)
				var law *deviateLaw
				if k > 1 {
					law = p.law(k)
				}
				f := fit.FromMoments(n0, 0.1, 0.8)
				want := allBelow(f.Posterior, limit, k)
				require.InDelta(t, want, newPooled(s, limit, k).quiet(law, 0), 1e-8, "n0 %d k %d limit %v", n0, k, limit)
			}
		}
	}
}

// One new reading: the chance that it lies below q is Student's t, (q - mean)/(s sqrt(1+1/n)) with n-1 degrees of freedom
// (the predictive distribution of a normal sample, any textbook).
func TestNextReadingIsStudent(t *testing.T) {
	t.Parallel()
	for _, n := range []int{2, 5, 30} {
		for _, q := range []float64{-1, 0.4, 2.5} {
			want := numeric.StudentTCDF(float64(n-1), (q-0.1)/(0.8*math.Sqrt(1+1/float64(n))))
			require.InDelta(t, want, allBelow(fit.FromMoments(n, 0.1, 0.8).Posterior, q, 1), 1e-10)
		}
	}
}

// Pooled chances sum to 1, and those of the rules that are exact tend to the posterior probability that they ask about.
func TestPooledTendsToThePosterior(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, rule := range []decision.Rule{decision.UpperLimit95, decision.MeanUpperLimit} {
		for _, limit := range []float64{0.3, 1.2, 2} {
			s := observed(t, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4})
			end, err := s.eventually(rule, limit)
			require.NoError(t, err)
			last := math.Inf(1)
			for _, k := range []int{10, 60, 300, 900} {
				c := pooledOf(t, &p, rule, s, limit, k)
				require.Less(t, c.Undecided, last)
				require.Less(t, c.Compliant, end.Compliant)
				require.Less(t, c.NotCompliant, end.NotCompliant)
				last = c.Undecided
			}
			require.Less(t, last, 0.12)
		}
	}
}

func TestPooledProperties(t *testing.T) {
	t.Parallel()
	var p Planner
	rapid.Check(t, func(t *rapid.T) {
		rule := rapid.SampledFrom(planned()).Draw(t, "rule")
		n, k := rapid.IntRange(2, 30).Draw(t, "n"), rapid.IntRange(1, 30).Draw(t, "k")
		sd := rapid.Float64Range(0.05, 2).Draw(t, "sd")
		s, err := Observed(n, 0, sd, sd)
		require.NoError(t, err)
		var last Chances
		for i, limit := range []float64{1.1, 1.7, 2.5, 4} {
			c, err := p.Pooled(rule, s, limit*sd, k)
			require.NoError(t, err)
			for _, v := range []float64{c.Compliant, c.NotCompliant, c.Undecided} {
				require.True(t, v >= 0 && v <= 1, "%+v", c)
			}
			require.InDelta(t, 1, c.Compliant+c.NotCompliant+c.Undecided, 1e-12)
			if i > 0 {
				require.GreaterOrEqual(t, c.Compliant, last.Compliant-1e-8)
				require.LessOrEqual(t, c.NotCompliant, last.NotCompliant+1e-8)
			}
			last = c
		}
	})
}

// A result above the limit has settled EN 689; one above a fraction of it has settled the preliminary test against.
func TestPooledEN689CountsTheReadingsSoFar(t *testing.T) {
	t.Parallel()
	var p Planner
	over, err := Observed(4, 0, 0.5, 1.2)
	require.NoError(t, err)
	require.Equal(t, Chances{NotCompliant: 1}, pooledOf(t, &p, decision.EN689, over, 1.1, 5))
	low, err := Observed(2, -4, 0.5, -3.5)
	require.NoError(t, err)
	require.Greater(t, pooledOf(t, &p, decision.EN689, low, 0, 1).Compliant, 0.5)
	high, err := Observed(2, -4, 0.5, -1)
	require.NoError(t, err)
	require.Zero(t, pooledOf(t, &p, decision.EN689, high, 0, 1).Compliant)
}

// An uncensored posterior is its own equivalent.
func TestEquivalentOfUncensoredReadings(t *testing.T) {
	t.Parallel()
	for _, n := range []int{2, 3, 7, 12, 60, 400} {
		s, err := Equivalent(fit.FromMoments(n, -1.3, 0.7).Posterior, n, 0.5)
		require.NoError(t, err)
		require.True(t, s.Approximate)
		require.Equal(t, n, s.n)
		require.Equal(t, n, s.readings)
		require.InDelta(t, -1.3, s.mean, 1e-10)
		require.InDelta(t, 0.7, s.sd, 1e-10)
		require.Equal(t, 0.5, s.maximum)
	}
}

// Six detected readings and four non-detects, joined by six more: the rules judge the censored readings with the new ones by
// the full likelihood. 400 draws from the censored posterior, on a grid of mu and ln sigma, with a fixed seed; the stated
// error is that of Equivalent, 0.05, and three standard errors of a proportion, 0.075 at the most.
func TestEquivalentOfCensoredReadings(t *testing.T) {
	t.Parallel()
	const draws, k, logLimit = 400, 6, 0.9
	detected, reporting := []float64{0.12, 0.3, 0.07, 0.5, 0.2, 0.15}, []float64{0.1, 0.1, 0.05, 0.1}
	var readings []reading.Reading
	for _, v := range detected {
		readings = append(readings, reading.At(v))
	}
	for _, v := range reporting {
		readings = append(readings, reading.Under(v))
	}
	f := fit.New(readings, fit.Options{})
	s, err := Equivalent(f.Posterior, len(readings), math.Log(0.5))
	require.NoError(t, err)
	require.Equal(t, 6, s.n)
	require.Equal(t, 10, s.readings)

	grid := newCensoredGrid(detected, reporting)
	draw := rand.New(rand.NewPCG(22, 0))
	passed, below := 0, 0
	for range draws {
		mu, sigma := grid.draw(draw)
		all, largest := slices.Clone(readings), math.Log(0.5)
		for range k {
			y := mu + sigma*draw.NormFloat64()
			all, largest = append(all, reading.At(math.Exp(y))), max(largest, y)
		}
		posterior := fit.New(all, fit.Options{}).Posterior
		if largest <= logLimit && posterior.Below(score95(), logLimit) > 0.7 {
			passed++
		}
		if posterior.Below(score95(), logLimit) > 0.95 {
			below++
		}
	}
	var p Planner
	near := func(want float64, count int) {
		require.InDelta(t, want, float64(count)/draws, 0.05+3*math.Sqrt(0.25/draws))
	}
	near(pooledOf(t, &p, decision.EN689, s, logLimit, k).Compliant, passed)
	near(pooledOf(t, &p, decision.UpperLimit95, s, logLimit, k).Compliant, below)
}

// censoredGrid is a posterior under 1/sigma of detected readings and non-detects, as running sums over a grid.
type censoredGrid struct{ mu, sigma, sum []float64 }

func newCensoredGrid(detected, reporting []float64) *censoredGrid {
	g, total := &censoredGrid{}, 0.0
	for mu := -12.0; mu < 2; mu += 0.05 {
		for u := -2.0; u < 2.5; u += 0.03 {
			sigma, log := math.Exp(u), 0.0
			for _, v := range detected {
				z := (math.Log(v) - mu) / sigma
				log -= 0.5*z*z + u
			}
			for _, v := range reporting {
				log += numeric.LogNormalCDF((math.Log(v) - mu) / sigma)
			}
			total += math.Exp(log)
			g.mu, g.sigma, g.sum = append(g.mu, mu), append(g.sigma, sigma), append(g.sum, total)
		}
	}
	return g
}

func (g *censoredGrid) draw(r *rand.Rand) (mu, sigma float64) {
	i, _ := slices.BinarySearch(g.sum, r.Float64()*g.sum[len(g.sum)-1])
	return g.mu[i], g.sigma[i]
}

func TestProspect(t *testing.T) {
	t.Parallel()
	var p Planner
	s := observed(t, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4})
	r, err := p.Prospect(decision.UpperLimit95, s, 5, 30, Want{Comply, 0.8})
	require.NoError(t, err)
	require.Len(t, r.Rows, 30)
	require.Contains(t, r.Text, "a compliant outcome has a chance of")
	require.Positive(t, r.Needed.Samples)

	r, err = p.Prospect(decision.UpperLimit95, s, 1.3, 30, Want{Settle, 0.95})
	require.NoError(t, err)
	require.Zero(t, r.Needed.Samples)
	require.Contains(t, r.Text, "More samples will hardly reach it: of 1 to 30 more, ")
	require.InDelta(t, 1, r.Eventually.Settled(), 1e-12)

	r, err = p.Prospect(decision.EN689, s, 1.3, 10, Want{Refuse, 0.2})
	require.NoError(t, err)
	require.Equal(t, 1, r.Needed.Samples)
	require.Contains(t, r.Text, "With 1 more sample a non-compliant outcome")
	require.Equal(t, Chances{NotCompliant: 1}, r.Eventually)
	_, err = p.Prospect(decision.MeanUpperLimit, s, 1.3, 3, Want{Settle, 0.5})
	require.NoError(t, err)
}

func TestPredictionRefuses(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, bad := range []struct {
		n        int
		mean, sd float64
		code     fault.Code
	}{
		{1, 0, 1, fault.InvalidArgument},
		{MaxSamples + 1, 0, 1, fault.InvalidArgument},
		{5, 0, 0, fault.Undetermined},
		{5, math.NaN(), 1, fault.Undetermined},
		{5, 0, math.Inf(1), fault.Undetermined},
	} {
		_, err := Observed(bad.n, bad.mean, bad.sd, 0)
		require.Equal(t, bad.code, fault.CodeOf(err), "%+v", bad)
	}
	s := observed(t, []float64{-0.5, 0, 0.9})
	for _, k := range []int{0, MaxSamples} {
		_, err := p.Pooled(decision.EN689, s, 0, k)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	_, err := p.Pooled(decision.SingleShift, s, 0, 3)
	require.Equal(t, fault.Unsupported, fault.CodeOf(err))
	_, err = p.Prospect(decision.EN689, s, 0, 0, Want{})
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	_, err = p.Prospect(decision.SingleShift, s, 0, 3, Want{})
	require.Equal(t, fault.Unsupported, fault.CodeOf(err))
}
