package planning

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric/logmean"
	"example.com/tailbound/service/reading"
)

// judged lets the rules themselves judge readings, with logs given: package decision where it knows the rule, Land's limits
// for the arithmetic mean.
func judged(tb testing.TB, rule decision.Rule, logs []float64, logLimit float64) decision.Outcome {
	tb.Helper()
	readings := make([]reading.Reading, len(logs))
	for i, y := range logs {
		readings[i] = reading.At(math.Exp(y))
	}
	f := fit.Uncensored(readings, nil)
	if rule == decision.MeanUpperLimit {
		return judgedMean(tb, &f, logLimit)
	}
	if rule == decision.Posterior {
		rule = decision.UpperLimit95
	}
	e := decision.Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: math.Exp(logLimit)}
	for _, d := range decision.All(&e) {
		if d.Rule == rule {
			return d.Outcome
		}
	}
	tb.Fatalf("rule %d was not judged", rule)
	return decision.NoOutcome
}

func judgedMean(tb testing.TB, f *fit.Fit, logLimit float64) decision.Outcome {
	tb.Helper()
	upper, err := logmean.Land(f.N, f.Mu, f.Sigma, 0.95)
	require.NoError(tb, err)
	lower, err := logmean.Land(f.N, f.Mu, f.Sigma, 0.05)
	require.NoError(tb, err)
	switch {
	case upper < logLimit:
		return decision.Compliant
	case lower > logLimit:
		return decision.NotCompliant
	default:
		return decision.Undecided
	}
}

// tally counts outcomes.
type tally [4]int

// requireNear holds a tally against chances. The stated error is four standard errors of a proportion of the chance itself,
// and one count.
func (c tally) requireNear(tb testing.TB, want Chances, draws int, about ...any) {
	tb.Helper()
	n := float64(draws)
	for outcome, p := range map[decision.Outcome]float64{
		decision.Compliant: want.Compliant, decision.NotCompliant: want.NotCompliant, decision.Undecided: want.Undecided,
	} {
		require.InDelta(tb, p, float64(c[outcome])/n, 4*math.Sqrt(p*(1-p)/n)+1/n, about...)
	}
}

// Each planned chance is the frequency with which the rule itself gives the outcome: 3000 groups a row, drawn with a fixed
// seed; four standard errors are 0.037 at the most.
func TestChancesAreTheFrequenciesOfTheRules(t *testing.T) {
	t.Parallel()
	const draws = 3000
	cases := []struct {
		rule       decision.Rule
		n          int
		ratio, gsd float64 // of the true 95th percentile to the limit
	}{
		{decision.EN689, 2, 0.9, 2},
		{decision.EN689, 3, 0.12, 2},
		{decision.EN689, 4, 0.2, 3},
		{decision.EN689, 5, 0.25, 1.7},
		{decision.EN689, 6, 0.7, 2.5},
		{decision.EN689, 7, 1, 2},
		{decision.EN689, 12, 0.8, 1.6},
		{decision.EN689, 25, 0.7, 2.2},
		{decision.EN689, 50, 0.5, 3},
		{decision.UpperLimit95, 6, 0.3, 2},
		{decision.UpperLimit95, 20, 1.8, 2},
		{decision.Posterior, 12, 0.5, 1.8},
		{decision.MeanUpperLimit, 4, 0.6, 2},
		{decision.MeanUpperLimit, 9, 2, 3},
		{decision.MeanUpperLimit, 25, 8, 4},
	}
	var p Planner
	for i, c := range cases {
		draw := rand.New(rand.NewPCG(20, uint64(i)))
		a, err := AssumeRatio(c.ratio, c.gsd)
		require.NoError(t, err)
		var counts tally
		logs := make([]float64, c.n)
		for range draws {
			for j := range logs {
				logs[j] = a.sigma * draw.NormFloat64()
			}
			counts[judged(t, c.rule, logs, a.sigma*a.score)]++
		}
		counts.requireNear(t, chancesOf(t, &p, c.rule, a, c.n), draws, "%+v", c)
	}
}

// The same for readings so far that are joined by more: mu and sigma are drawn from the posterior under 1/sigma, the new
// readings from them, and the rule judges all together. 3000 draws a row with a fixed seed.
func TestPooledChancesAreTheFrequenciesOfTheRules(t *testing.T) {
	t.Parallel()
	const draws = 3000
	cases := []struct {
		rule  decision.Rule
		logs  []float64
		limit float64 // of ln reading
		k     int
	}{
		{decision.EN689, []float64{-0.4, 0.3}, 3.2, 1},
		{decision.EN689, []float64{-0.4, 0.3}, 3.2, 3},
		{decision.EN689, []float64{-0.5, 0, 0.9}, 2.2, 2},
		{decision.EN689, []float64{-0.5, 0, 0.9}, 2.2, 3},
		{decision.EN689, []float64{-0.5, 0, 0.9}, 2.2, 4},
		{decision.EN689, []float64{-0.5, 0, 0.9, 0.2, -1.2}, 1.9, 1},
		{decision.EN689, []float64{-0.5, 0, 0.9, 0.2, -1.2}, 1.9, 7},
		{decision.EN689, []float64{-0.5, 0, 0.9, 0.2, -1.2}, 1.9, 30},
		{decision.EN689, []float64{-0.5, 0, 0.9, 0.2, -1.2}, 0.8, 3},
		{decision.UpperLimit95, []float64{-0.4, 0.3, 0.1, 0.2}, 1.1, 5},
		{decision.UpperLimit95, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4}, 2.3, 1},
		{decision.Posterior, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4}, 2, 20},
		{decision.MeanUpperLimit, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4}, 0.9, 1},
		{decision.MeanUpperLimit, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4}, 0.1, 4},
		{decision.MeanUpperLimit, []float64{-0.5, 0, 0.9, 0.2, -1.2, 0.4}, -0.3, 12},
	}
	var p Planner
	for i, c := range cases {
		draw := rand.New(rand.NewPCG(21, uint64(i)))
		s := observed(t, c.logs)
		want, err := p.Pooled(c.rule, s, c.limit, c.k)
		require.NoError(t, err)
		var counts tally
		all := append(make([]float64, 0, len(c.logs)+c.k), c.logs...)
		for range draws {
			chi := 0.0
			for range s.n - 1 {
				z := draw.NormFloat64()
				chi += z * z
			}
			sigma := s.sd * math.Sqrt(float64(s.n-1)/chi)
			mu := s.mean + sigma/math.Sqrt(float64(s.n))*draw.NormFloat64()
			all = all[:len(c.logs)]
			for range c.k {
				all = append(all, mu+sigma*draw.NormFloat64())
			}
			counts[judged(t, c.rule, all, c.limit)]++
		}
		counts.requireNear(t, want, draws, "%+v", c)
	}
}

func observed(tb testing.TB, logs []float64) SoFar {
	tb.Helper()
	n, mean, largest := float64(len(logs)), 0.0, math.Inf(-1)
	for _, y := range logs {
		mean += y / n
		largest = max(largest, y)
	}
	squares := 0.0
	for _, y := range logs {
		squares += (y - mean) * (y - mean)
	}
	s, err := Observed(len(logs), mean, math.Sqrt(squares/(n-1)), largest)
	require.NoError(tb, err)
	return s
}
