package decision

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// simulation draws groups from a lognormal that lies exactly at the boundary of a rule and counts how often the rule finds them
// compliant, which is wrong.
type simulation struct {
	rule  func(*Evidence) (Outcome, string)
	draws int
	// promise is the largest chance of a wrong COMPLIANT; exact says that the rule uses it up.
	promise float64
	exact   bool
	// draw returns a group against a limit of 1.
	draw func(*rand.Rand) []reading.Reading
	cv   float64
}

// tailed draws n readings with the 95th percentile at 1.
func tailed(n int, sigma float64) func(*rand.Rand) []reading.Reading {
	return lognormal(n, -1.6448536269514722*sigma, sigma)
}

// averaged draws n readings with the arithmetic mean at 1.
func averaged(n int, sigma float64) func(*rand.Rand) []reading.Reading {
	return lognormal(n, -sigma*sigma/2, sigma)
}

func lognormal(n int, mu, sigma float64) func(*rand.Rand) []reading.Reading {
	return func(r *rand.Rand) []reading.Reading {
		out := make([]reading.Reading, n)
		for i := range out {
			out[i] = reading.At(math.Exp(mu + sigma*r.NormFloat64()))
		}
		return out
	}
}

// measured draws one shift at the limit, measured with the coefficient of variation.
func measured(cv float64) func(*rand.Rand) []reading.Reading {
	return func(r *rand.Rand) []reading.Reading {
		return []reading.Reading{reading.At(math.Max(1+cv*r.NormFloat64(), 1e-6))}
	}
}

// ofSubjects gives the readings to three subjects in turn. They do not differ, so that the group test's own promise stands.
func ofSubjects(draw func(*rand.Rand) []reading.Reading) func(*rand.Rand) []reading.Reading {
	return func(r *rand.Rand) []reading.Reading {
		readings := draw(r)
		for i := range readings {
			readings[i].Subject = []string{"P1", "P2", "P3"}[i%3]
		}
		return readings
	}
}

// reported hides what is below the bound.
func reported(bound float64, draw func(*rand.Rand) []reading.Reading) func(*rand.Rand) []reading.Reading {
	return func(r *rand.Rand) []reading.Reading {
		readings := draw(r)
		for i := range readings {
			if readings[i].Lower < bound {
				readings[i] = reading.Under(bound)
			}
		}
		return readings
	}
}

// Each rule's chance of a wrong COMPLIANT at its boundary is at most what the rule promises. The seed is fixed, one a row; the check allows 4
// standard errors of the simulation, sqrt(p (1-p)/draws), upwards and, where the promise is used up, downwards as well. The
// preliminary test of EN 689 promises nothing of the kind and is left out: measured with 100000 draws at the boundary, its wrong
// COMPLIANT comes up in 0.1 % of groups with a GSD of 2 and 5 results, but in 6 % with a GSD of 3 and in 22 % with a GSD of 5.
// Nor does the group test hold its 30 % where subjects differ, since results of one subject are no independent draws: with half of
// the variance between 3 subjects of 3 results it comes to 43 %, with a fifth to 35 % (4000 draws each).
func TestWrongCompliantIsAsRareAsPromised(t *testing.T) {
	t.Parallel()
	const many, hundreds = 20000, 400
	for name, s := range map[string]simulation{
		// EN 689 also finds against any result above the limit, which only lowers the chance.
		"EN 689, n = 6":                     {rule: en689, draws: many, promise: 0.30, draw: tailed(6, 0.8)},
		"EN 689, n = 20":                    {rule: en689, draws: many, promise: 0.30, draw: tailed(20, 0.8)},
		"EN 689, the limit alone, n = 6":    {rule: en689Statistical, draws: many, promise: 0.30, exact: true, draw: tailed(6, 0.8)},
		"EN 689, the limit alone, wide":     {rule: en689Statistical, draws: many, promise: 0.30, exact: true, draw: tailed(9, 2)},
		"95 % limits, n = 3":                {rule: upperLimit95, draws: many, promise: 0.05, exact: true, draw: tailed(3, 0.8)},
		"95 % limits, n = 20":               {rule: upperLimit95, draws: many, promise: 0.05, exact: true, draw: tailed(20, 0.8)},
		"posterior, n = 6":                  {rule: posteriorProbability, draws: many, promise: 0.05, exact: true, draw: tailed(6, 0.8)},
		"mean, n = 6":                       {rule: meanUpperLimit, draws: many, promise: 0.05, exact: true, draw: averaged(6, 0.8)},
		"mean, n = 15, wide":                {rule: meanUpperLimit, draws: many, promise: 0.05, exact: true, draw: averaged(15, 1.5)},
		"single shift":                      {rule: singleShift, draws: many, promise: 0.05, exact: true, draw: measured(0.14), cv: 0.14},
		"group and subject, subjects alike": {rule: groupAndSubject, draws: many / 10, promise: 0.30, draw: ofSubjects(tailed(9, 0.8))},
		"95 % limits, half below, n = 10":   {rule: upperLimit95, draws: hundreds, promise: 0.05, draw: reported(0.27, tailed(10, 0.8))},
		"posterior, half below, n = 10":     {rule: posteriorProbability, draws: hundreds, promise: 0.05, draw: reported(0.27, tailed(10, 0.8))},
		"EN 689, half below, n = 10":        {rule: en689, draws: hundreds, promise: 0.30, draw: reported(0.27, tailed(10, 0.8))},
		"mean, a third below, n = 10":       {rule: meanUpperLimit, draws: hundreds, promise: 0.05, draw: reported(0.5, averaged(10, 0.8))},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s.check(t, name)
		})
	}
}

func (s simulation) check(t *testing.T, name string) {
	t.Helper()
	seed := fnv.New64a()
	seed.Write([]byte(name))
	random := rand.New(rand.NewPCG(4, seed.Sum64()))
	var factors fit.Factors
	wrong := 0
	for range s.draws {
		readings := s.draw(random)
		f := fit.New(readings, fit.Options{Factors: &factors})
		e := &Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: 1, RelativeError: s.cv}
		if outcome, _ := s.rule(e); outcome == Compliant {
			wrong++
		}
	}
	share := float64(wrong) / float64(s.draws)
	slack := 4 * math.Sqrt(s.promise*(1-s.promise)/float64(s.draws))
	t.Logf("wrong COMPLIANT %.4f of %d, promised %.2f, standard error %.4f", share, s.draws, s.promise, slack/4)
	require.LessOrEqual(t, share, s.promise+slack)
	if s.exact {
		require.GreaterOrEqual(t, share, s.promise-slack)
	}
}
