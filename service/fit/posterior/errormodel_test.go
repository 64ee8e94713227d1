package posterior

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// brute is a second, slow way to the posterior, which shares no code with the quadrature: the likelihood is written anew for each
// reading, and the half-plane of mu and true sigma is covered by Gauss-Legendre panels.
type brute struct {
	readings []reading.Reading
	tau      float64
	// density is the prior in (mu, sigma).
	density func(mu, sigma float64) float64
	// muLower ... sigmaUpper bound the half-plane.
	muLower, muUpper, sigmaLower, sigmaUpper float64
}

func (b *brute) likelihood(mu, sigma float64) float64 {
	s := math.Sqrt(sigma*sigma + b.tau*b.tau)
	l := 1.0
	for _, r := range b.readings {
		lower, upper := (math.Log(r.Lower)-mu)/s, (math.Log(r.Upper)-mu)/s
		switch r.Kind {
		case reading.Detected:
			l *= numeric.NormalDensity(lower) / s
		case reading.Below:
			l *= numeric.NormalCDF(upper)
		case reading.Above:
			l *= numeric.NormalSurvival(lower)
		case reading.Between:
			l *= numeric.NormalCDF(upper) - numeric.NormalCDF(lower)
		}
	}
	return l
}

// mass is the integral over mu <= edge(sigma) and sigma <= top. The inner integral ends at the edge and the outer one at the top, so
// that no step is crossed; sigma runs evenly in its logarithm, and mu as far as readings within a few units of 0 let it.
func (b *brute) mass(edge func(sigma float64) float64, top float64) float64 {
	return panels(36, math.Log(b.sigmaLower), math.Log(top), func(l float64) float64 {
		sigma := math.Exp(l)
		reach := 4 + 12*math.Hypot(sigma, b.tau)
		from, to := max(b.muLower, -reach), min(edge(sigma), b.muUpper, reach)
		if to <= from {
			return 0
		}
		return sigma * panels(8, from, to, func(mu float64) float64 { return b.likelihood(mu, sigma) * b.density(mu, sigma) })
	})
}

func panels(n int, from, to float64, f func(x float64) float64) float64 {
	sum, width := 0.0, (to-from)/float64(n)
	for i := range n {
		at := from + width*float64(i)
		sum += numeric.GaussLegendre(f, at, at+width)
	}
	return sum
}

func everything(float64) float64 { return math.Inf(1) }

// below is the probability that mu <= edge(sigma).
func (b *brute) below(edge func(sigma float64) float64) float64 {
	return b.mass(edge, b.sigmaUpper) / b.mass(everything, b.sigmaUpper)
}

// errorReadings scatter about as much as a measurement error of 0.3 explains.
func errorReadings() []reading.Reading {
	return []reading.Reading{
		reading.At(0.8), reading.At(1.1), reading.At(1.7), reading.At(0.95), reading.Under(0.7), reading.Under(0.9), reading.Within(1.2, 2),
		reading.Over(1.5),
	}
}

// bruteForce is what the panels are good to.
const bruteForce = 1e-8

// Against brute force, with the prior as it is derived in errormodel.go.
func TestMeasurementErrorBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("a slow second way")
	}
	t.Parallel()
	for _, tau := range []float64{0.15, 0.4} {
		b := brute{
			readings: errorReadings(), tau: tau,
			density: func(_, sigma float64) float64 { return sigma / (sigma*sigma + tau*tau) },
			muLower: math.Inf(-1), muUpper: math.Inf(1), sigmaLower: 1e-6, sigmaUpper: 1e4,
		}
		q, err := New(likelihood.NewData(errorReadings(), 1), Prior{}, tau)
		require.NoError(t, err)
		z := numeric.NormalQuantile(0.95)
		for _, at := range []float64{0.2, 0.9} {
			want := b.below(func(sigma float64) float64 { return at - z*sigma })
			require.InDelta(t, want, q.Below(z, at), bruteForce, "tau %v, percentile at %v", tau, at)
			want = b.below(func(sigma float64) float64 { return at - 0.5*sigma*sigma })
			m, err := q.of(MeanKind, 0)
			require.NoError(t, err)
			require.InDelta(t, want, m.below(at-q.f.origin), bruteForce, "tau %v, mean at %v", tau, at)
		}
		for _, sigma := range []float64{0.05, 0.5} {
			want := b.mass(everything, sigma) / b.mass(everything, b.sigmaUpper)
			require.InDelta(t, want, q.spread.below(math.Log(sigma)), bruteForce, "tau %v, sigma %v", tau, sigma)
		}
	}
}

func TestMeasurementErrorVanishes(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(41, 42))
	for range 6 {
		readings, mu, sigma := properReadings(rng)
		plain, err := New(likelihood.NewData(readings, 1), Prior{}, 0)
		require.NoError(t, err)
		gap := math.Inf(1)
		for _, share := range []float64{0.1, 0.01, 0.001} {
			q, err := New(likelihood.NewData(readings, 1), Prior{}, share*sigma)
			require.NoError(t, err)
			worst := 0.0
			for _, ask := range questions(mu + 2*sigma) {
				for _, p := range []float64{0.05, 0.5, 0.95} {
					v, err := ask.answer(q, p)
					require.NoError(t, err)
					below, err := ask.below(plain, v)
					require.NoError(t, err)
					worst = max(worst, math.Abs(below-p))
				}
			}
			// The error of the readings enters by its square.
			require.Less(t, worst, max(gap/20, slack))
			gap = worst
		}
	}
}

// A measurement error takes its part out of the spread, and out of the limits as long as it explains less than all of the scatter;
// then it leaves mu less certain.
func TestMeasurementErrorLowersLimits(t *testing.T) {
	t.Parallel()
	z := numeric.NormalQuantile(0.95)
	last, spread := math.Inf(1), math.Inf(1)
	for _, relative := range []float64{0, 0.1, 0.2, 0.3} {
		q, err := New(likelihood.NewData(errorReadings(), 1), Prior{}, LogErrorSpread(relative))
		require.NoError(t, err)
		v, err := q.Quantile(z, 0.7)
		require.NoError(t, err)
		require.Less(t, v, last, "relative error %v", relative)
		s, err := q.Spread(0.5)
		require.NoError(t, err)
		require.Less(t, s, spread, "relative error %v", relative)
		last, spread = v, s
	}
}

// With an error, equal readings say something. For n of them the posterior of the observed spread s is s^-n ds above tau, so that
// Pr(sigma > v) = (tau²/(v² + tau²))^((n-1)/2): our own derivation. One reading says nothing.
func TestMeasurementErrorMakesProper(t *testing.T) {
	t.Parallel()
	const tau = 0.2
	for n := 1; n <= 6; n++ {
		equal := make([]reading.Reading, n)
		for i := range equal {
			equal[i] = reading.At(0.3)
		}
		_, err := New(likelihood.NewData(equal, 1), Prior{}, 0)
		require.Equal(t, fault.Undetermined, fault.CodeOf(err))
		q, err := New(likelihood.NewData(equal, 1), Prior{}, tau)
		if n == 1 {
			require.Equal(t, fault.Undetermined, fault.CodeOf(err))
			continue
		}
		require.NoError(t, err)
		for _, p := range []float64{0.05, 0.5, 0.95} {
			v, err := q.Spread(p)
			require.NoError(t, err)
			require.InDelta(t, 1-p, math.Pow(tau*tau/(v*v+tau*tau), 0.5*float64(n-1)), 1e-8, "n = %d", n)
		}
	}
}

// The coefficient of variation of a lognormal with log standard deviation tau is sqrt(exp(tau²) - 1); Aitchison and Brown 1957 (from
// memory).
func TestLogErrorSpread(t *testing.T) {
	t.Parallel()
	require.Zero(t, LogErrorSpread(0))
	for _, r := range []float64{1e-9, 0.01, 0.1, 0.25, 1} {
		tau := LogErrorSpread(r)
		require.InDelta(t, r, math.Sqrt(math.Expm1(tau*tau)), 1e-12*r)
	}
	require.InDelta(t, math.Sqrt(math.Ln2), LogErrorSpread(1), 1e-15)
}
