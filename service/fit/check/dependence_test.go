package check

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/reading"
)

// morning is when the invented shifts begin.
func morning() time.Time { return time.Date(2026, 3, 9, 7, 0, 0, 0, time.UTC) }

// quarters are readings of 15 minutes, one after another.
func quarters(logs []float64) []reading.Reading {
	out := make([]reading.Reading, len(logs))
	for i, y := range logs {
		out[i] = reading.At(math.Exp(y))
		out[i].Zone, out[i].Start, out[i].Duration = "press", morning().Add(time.Duration(i)*15*time.Minute), 15*time.Minute
	}
	return out
}

// firstOrder is a series of n values whose correlation with the next is r.
func firstOrder(random *rand.Rand, n int, r float64) []float64 {
	out := make([]float64, n)
	out[0] = random.NormFloat64()
	for i := 1; i < n; i++ {
		out[i] = r*out[i-1] + math.Sqrt(1-r*r)*random.NormFloat64()
	}
	return out
}

// The level is 1 %, of which a single run of few pairs does not use all; independent readings are hardly ever refused, and a
// first-order series of r = 0.7 nearly always once it is some shifts long. The bounds are four standard errors of the simulation wide.
func TestSerialLevelAndPower(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2026, 11))
	for _, c := range []struct {
		n, trials   int
		r           float64
		least, most float64
	}{
		{6, 4000, 0, 0, 0.007},
		{32, 4000, 0, 0.002, 0.014},
		{96, 4000, 0, 0.003, 0.016},
		{480, 800, 0, 0, 0.025},
		{32, 1000, 0.7, 0.85, 1},
		{96, 500, 0.7, 0.99, 1},
		{480, 100, 0.3, 0.99, 1},
	} {
		refused := 0
		for range c.trials {
			if d := Serial(quarters(firstOrder(random, c.n, c.r))); d.Dependent {
				refused++
			}
		}
		rate := float64(refused) / float64(c.trials)
		t.Logf("n = %d, r = %g: %.4f found dependent", c.n, c.r, rate)
		require.GreaterOrEqual(t, rate, c.least, "n = %d, r = %g", c.n, c.r)
		require.LessOrEqual(t, rate, c.most, "n = %d, r = %g", c.n, c.r)
	}
}

// The effective number agrees with how much the mean of such a series really varies: var(mean) = sigma²/effective.
func TestSerialEffectiveReadings(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2026, 12))
	const n, r, trials = 400, 0.7, 1500
	var squares, effective float64
	for range trials {
		y := firstOrder(random, n, r)
		sum := 0.0
		for _, v := range y {
			sum += v
		}
		squares += sum * sum / (n * n) / trials
		effective += Serial(quarters(y)).EffectiveReadings / trials
	}
	require.InEpsilon(t, 1/squares, effective, 0.12)
	require.InEpsilon(t, n*(1-r)/(1+r), effective, 0.1)
}

// Six readings in a row by hand: pairs (0,1) (1,3) (3,2) (2,4) (4,5) have means 2 and 3, products 7, squares 10 and 10.
func TestSerialByHand(t *testing.T) {
	t.Parallel()
	d := Serial(quarters([]float64{0, 1, 3, 2, 4, 5}))
	require.Equal(t, 5, d.Pairs)
	require.Zero(t, d.Unvalued)
	require.InDelta(t, 0.7, d.Correlation, 1e-14)
	require.InDelta(t, 6*0.3/1.7, d.EffectiveReadings, 1e-14)
	require.False(t, d.Dependent, "atanh 0.7 + 4/25 = 1.027, times the root of 2: 1.45 < 2.326")
	require.True(t, d.Determined())
	require.True(t, d.Following())
}

func TestSerialPairs(t *testing.T) {
	t.Parallel()
	logs := []float64{0, 1, 3, 2, 4, 5, 3, 4}
	for name, c := range map[string]struct {
		change          func([]reading.Reading)
		pairs, unvalued int
	}{
		"as they are":        {func([]reading.Reading) {}, 7, 0},
		"no start":           {func(r []reading.Reading) { each(r, func(r *reading.Reading) { r.Start = time.Time{} }) }, 0, 0},
		"no length":          {func(r []reading.Reading) { each(r, func(r *reading.Reading) { r.Duration = 0 }) }, 0, 0},
		"a week apart":       {func(r []reading.Reading) { spread(r, 7*24*time.Hour) }, 0, 0},
		"longer than 4 h":    {func(r []reading.Reading) { lengthen(r, 4*time.Hour+1) }, 0, 0},
		"4 h":                {func(r []reading.Reading) { lengthen(r, 4*time.Hour) }, 7, 0},
		"gap of half":        {func(r []reading.Reading) { spread(r, 22*time.Minute+30*time.Second) }, 7, 0},
		"gap above half":     {func(r []reading.Reading) { spread(r, 22*time.Minute+31*time.Second) }, 0, 0},
		"rolling":            {func(r []reading.Reading) { spread(r, 10*time.Minute) }, 7, 0},
		"a zone each":        {func(r []reading.Reading) { each(r, func(r *reading.Reading) { r.Zone = r.Start.String() }) }, 0, 0},
		"a subject each":     {func(r []reading.Reading) { each(r, func(r *reading.Reading) { r.Subject = r.Start.String() }) }, 0, 0},
		"one without value":  {func(r []reading.Reading) { r[3].Kind, r[3].Lower = reading.Below, 0 }, 5, 2},
		"one between bounds": {func(r []reading.Reading) { r[3].Kind, r[3].Upper = reading.Between, 2*r[3].Lower }, 7, 0},
		"between from 0":     {func(r []reading.Reading) { r[3].Kind, r[3].Lower = reading.Between, 0 }, 5, 2},
		"one over the range": {func(r []reading.Reading) { r[3].Kind, r[3].Upper = reading.Above, math.Inf(1) }, 5, 2},
		"none with a value":  {func(r []reading.Reading) { each(r, func(r *reading.Reading) { r.Kind, r.Lower = reading.Below, 0 }) }, 0, 7},
		"two side by side":   {func(r []reading.Reading) { copy(r[4:], r[:4]) }, 6, 0},
		"all at one time":    {func(r []reading.Reading) { spread(r, 0) }, 0, 0},
		"a break of a night": {func(r []reading.Reading) {
			each(r[4:], func(r *reading.Reading) { r.Start = r.Start.Add(16 * time.Hour) })
		}, 6, 0},
	} {
		readings := quarters(logs)
		c.change(readings)
		d := Serial(readings)
		require.Equal(t, [2]int{c.pairs, c.unvalued}, [2]int{d.Pairs, d.Unvalued}, name)
		require.Equal(t, c.pairs >= 5, d.Determined(), name)
	}
}

func each(r []reading.Reading, change func(*reading.Reading)) {
	for i := range r {
		change(&r[i])
	}
}

func spread(r []reading.Reading, step time.Duration) {
	for i := range r {
		r[i].Start = morning().Add(time.Duration(i) * step)
	}
}

func lengthen(r []reading.Reading, length time.Duration) {
	each(r, func(r *reading.Reading) { r.Duration = length })
	spread(r, length)
}

// Equal readings have no correlation, and readings that only ever rise are worth no less than one.
func TestSerialAtTheEdges(t *testing.T) {
	t.Parallel()
	d := Serial(quarters([]float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}))
	require.Equal(t, 6, d.Pairs)
	require.True(t, math.IsNaN(d.Correlation))
	require.False(t, d.Determined() || d.Dependent)
	d = Serial(quarters([]float64{1, 2, 3, 4, 5, 6, 7, 8}))
	require.InDelta(t, 1, d.Correlation, 1e-15)
	require.True(t, d.Dependent)
	require.InDelta(t, 1, d.EffectiveReadings, 1e-12)
	d = Serial(quarters([]float64{1, -1, 1, -1, 1, -1, 1, -1}))
	require.InDelta(t, -1, d.Correlation, 1e-15)
	require.False(t, d.Dependent)
	require.InDelta(t, 8, d.EffectiveReadings, 1e-12)
}

// The order never changes a bit, the pairs are never more than the readings, and readings beside the run count in full.
func TestSerialProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "n")
		readings := make([]reading.Reading, n)
		for i := range readings {
			readings[i] = reading.At(rapid.Float64Range(0.1, 10).Draw(t, "value"))
			readings[i].Zone = rapid.SampledFrom([]string{"a", "b"}).Draw(t, "zone")
			readings[i].Start = morning().Add(time.Duration(rapid.IntRange(0, 40).Draw(t, "start")) * 10 * time.Minute)
			readings[i].Duration = time.Duration(rapid.IntRange(1, 25).Draw(t, "length")) * 10 * time.Minute
		}
		d := Serial(readings)
		require.Equal(t, known(d), known(Serial(rapid.Permutation(readings).Draw(t, "order"))))
		require.Less(t, d.Pairs, max(n, 1))
		if d.Determined() {
			require.GreaterOrEqual(t, d.EffectiveReadings, 1.0)
			require.LessOrEqual(t, d.EffectiveReadings, float64(n))
			more := Serial(slices.Concat(readings, []reading.Reading{reading.At(1)}))
			require.InDelta(t, d.EffectiveReadings+1, more.EffectiveReadings, 1e-12)
		}
	})
}

// known gives numbers that are not there a value that equals itself.
func known(d Dependence) Dependence {
	if !d.Determined() {
		d.Correlation, d.EffectiveReadings = 0, 0
	}
	return d
}

func BenchmarkSerial(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 1))
	followed := quarters(firstOrder(random, 480, 0.7))
	apart := quarters(firstOrder(random, 480, 0.7))
	each(apart, func(r *reading.Reading) { r.Start, r.Duration = time.Time{}, 0 })
	for name, readings := range map[string][]reading.Reading{"following": followed, "without a start": apart} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_ = Serial(readings)
			}
		})
	}
}
