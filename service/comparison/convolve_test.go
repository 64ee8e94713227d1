package comparison

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// given is P(B - A <= d) for campaigns without censoring, where A is mu plus a function of sigma, by summing over both chi laws:
// given both spreads the difference is normal. It shares nothing with the convolution. The sums are trapezoid rules in ln S, whose
// density falls off like a power on one side.
func given(a, b *fit.Fit, d float64, shift func(sigma float64) float64) float64 {
	const first, last, step = -12.0, 1.5, 0.05
	expect := func(nu float64, f func(s float64) float64) float64 {
		sum, total := 0.0, 0.0
		for x := first; x <= last; x += step {
			s := math.Exp(x)
			w := math.Exp(nu * (x - (s*s-1)/2))
			if w > 1e-18 {
				sum += w * f(s)
				total += w
			}
		}
		return sum / total
	}
	return expect(float64(a.N-1), func(s float64) float64 {
		sa := a.Sigma / s
		return expect(float64(b.N-1), func(s float64) float64 {
			sb := b.Sigma / s
			spread := math.Sqrt(sa*sa/float64(a.N) + sb*sb/float64(b.N))
			return numeric.NormalCDF((d - (b.Mu - a.Mu) - shift(sb) + shift(sa)) / spread)
		})
	})
}

func z95(sigma float64) float64 { return 1.6448536269514722 * sigma }

func half(sigma float64) float64 { return sigma * sigma / 2 }

// The limits of the ratios of percentiles and of arithmetic means against sums over the spreads, for every uncensored pair of the
// reference from 3 and 3 to 30 and 12 readings.
func TestRatiosAgainstSumsOverTheSpreads(t *testing.T) {
	t.Parallel()
	for id, c := range samples(t) {
		if id[0] != 'P' {
			continue
		}
		p := only(t, c, Options{Reduction: 0.3})
		a, b := c[0].Fit, c[1].Fit
		const tolerance = 1e-6
		require.InDelta(t, given(a, b, 0, z95), p.Lower, tolerance, id)
		require.InDelta(t, given(a, b, math.Log(0.7), z95), p.LowerByReduction, tolerance, id)
		require.InDelta(t, 0.05, given(a, b, math.Log(p.Percentile.Lower), z95), tolerance, id)
		require.InDelta(t, 0.95, given(a, b, math.Log(p.Percentile.Upper), z95), tolerance, id)
		require.InDelta(t, 0.05, given(a, b, math.Log(p.ArithmeticMean.Lower), half), tolerance, id)
		require.InDelta(t, 0.95, given(a, b, math.Log(p.ArithmeticMean.Upper), half), tolerance, id)
	}
}

// The convolution of the two posteriors of ln sigma is the F distribution.
func TestSpreadsConvolveToF(t *testing.T) {
	t.Parallel()
	for id, c := range samples(t) {
		if id[0] != 'P' {
			continue
		}
		a, err := c[0].Fit.LogSpreadLaw()
		require.NoError(t, err)
		b, err := c[1].Fit.LogSpreadLaw()
		require.NoError(t, err)
		d := newDifference(&law{Law: a}, &law{Law: b})
		got := d.ratio(0, 0.95)
		want, _ := spreads(c[0].Fit, c[1].Fit, 0.95)
		require.InEpsilon(t, want.Lower, got.Lower, 2e-8, id)
		require.InEpsilon(t, want.Upper, got.Upper, 2e-8, id)
	}
}

// An independent Monte Carlo of the two noncentral pivots: 400,000 pairs with a fixed seed. The standard error of a probability
// near 0.05 is 3.4e-4; four of them are allowed.
func TestPercentileRatioAgainstMonteCarlo(t *testing.T) {
	t.Parallel()
	const draws = 400_000
	c := samples(t)["P07"]
	p := only(t, c, Options{Confidence: 0.95, LogLimit: new(math.Log(4))})
	source := rand.New(rand.NewPCG(20, 26))
	draw := func(f *fit.Fit) (mu, sigma float64) {
		chi := 0.0
		for range f.N - 1 {
			v := source.NormFloat64()
			chi += v * v
		}
		sigma = f.Sigma * math.Sqrt(float64(f.N-1)/chi)
		return f.Mu + sigma/math.Sqrt(float64(f.N))*source.NormFloat64(), sigma
	}
	ratios, differences := make([]float64, draws), make([]float64, draws)
	for i := range draws {
		ma, sa := draw(c[0].Fit)
		mb, sb := draw(c[1].Fit)
		ratios[i] = math.Exp(mb - ma + z95(sb) - z95(sa))
		differences[i] = numeric.NormalSurvival((math.Log(4)-mb)/sb) - numeric.NormalSurvival((math.Log(4)-ma)/sa)
	}
	share := func(values []float64, at float64) float64 {
		slices.Sort(values)
		n, _ := slices.BinarySearch(values, at)
		return float64(n) / draws
	}
	tolerance := 4 * math.Sqrt(0.05*0.95/draws)
	require.InDelta(t, 0.05, share(ratios, p.Percentile.Lower), tolerance)
	require.InDelta(t, 0.95, share(ratios, p.Percentile.Upper), tolerance)
	require.InDelta(t, p.Lower, share(ratios, 1), 4*0.5/math.Sqrt(draws))
	require.InDelta(t, 0.05, share(differences, p.Exceedance.Lower), tolerance)
	require.InDelta(t, 0.95, share(differences, p.Exceedance.Upper), tolerance)
}

// The sums must not hang on the spacing, whether readings are few, one campaign is narrow and the other wide, or some censored.
func TestConvolutionHasConverged(t *testing.T) {
	t.Parallel()
	wide := campaign("wide", reading.At(0.1), reading.At(3), reading.At(0.4))
	narrow := campaign("narrow", reading.At(1), reading.At(1.01), reading.At(1.03), reading.At(0.98), reading.At(1.02))
	censored := campaign("censored", reading.Under(0.2), reading.At(0.3), reading.Over(2), reading.At(0.8), reading.Within(0.1, 0.5))
	for i, c := range [][2]Campaign{{wide, narrow}, {narrow, wide}, {censored, narrow}, {wide, censored}, {censored, censored}} {
		limit := math.Log(1.5)
		for j, law := range []func(*fit.Fit) posterior.Law{
			func(f *fit.Fit) posterior.Law { l, _ := f.PercentileLaw(1.6448536269514722); return l },
			func(f *fit.Fit) posterior.Law { l, _ := f.LogMeanLaw(); return l },
			func(f *fit.Fit) posterior.Law { l, _ := f.ScoreLaw(limit); return tail{l} },
		} {
			d := newDifference(lawOf(law(c[0].Fit)), lawOf(law(c[1].Fit)))
			d.bounded = j == 2
			for _, p := range []float64{0.05, 0.5, 0.95} {
				at := d.quantile(p)
				got := d.below(at)
				require.InDelta(t, p, got, 1e-9)
				a, b := fine(d, at)
				require.LessOrEqual(t, min(math.Abs(got-a), math.Abs(got-b)), 2e-6, "pair %d, law %d at %v: %v, %v, %v", i, j, p, got, a, b)
			}
		}
	}
}

// Fractions that are all but 0 differ by all but nothing, and the search for their digits does not go on for ever.
func TestTinyFractions(t *testing.T) {
	t.Parallel()
	c := campaign("a", detected(1, 1.0001)...)
	p := only(t, [2]Campaign{c, c}, Options{LogLimit: new(math.Log(1.5))})
	require.InDelta(t, 0, p.Exceedance.Lower, 1e-6)
	require.InDelta(t, 0, p.Exceedance.Upper, 1e-6)
}

func lawOf(l posterior.Law) *law { return &law{Law: l} }

// fine is the law of the difference on a fine grid, once over A and once over B: of the two the one that has converged counts.
func fine(s *difference, d float64) (overA, overB float64) {
	const step = 0.02
	total := 0.0
	for x := -6.0; x <= 6; x += step {
		w := numeric.NormalDensity(x)
		a, _ := s.a.Quantile(numeric.NormalCDF(x))
		b, _ := s.b.Quantile(numeric.NormalCDF(x))
		under, _ := s.b.At(a + d)
		over, _ := s.a.At(b - d)
		overA += w * under
		overB += w * (1 - over)
		total += w
	}
	return overA / total, overB / total
}
