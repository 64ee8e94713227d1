package posterior

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

func TestPriorCheck(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		prior Prior
		field string
	}{
		{Prior{}, ""},
		{Prior{Bounded: &BoundedPrior{0.01, 10, 1.1, 5}}, ""},
		{Prior{Informed: &InformedPrior{0.1, 3, 2, 1.3}}, ""},
		{Prior{Carried: &CarriedPrior{nil, 0}}, ""},
		{Prior{Carried: &CarriedPrior{[]reading.Reading{reading.At(1), reading.Under(2)}, 1}}, ""},
		{Prior{Bounded: &BoundedPrior{0, 10, 1.1, 5}}, "prior.bounded.geometricMeanLower"},
		{Prior{Bounded: &BoundedPrior{nan, 10, 1.1, 5}}, "prior.bounded.geometricMeanLower"},
		{Prior{Bounded: &BoundedPrior{5e-324, 10, 1.1, 5}}, "prior.bounded.geometricMeanLower"},
		{Prior{Bounded: &BoundedPrior{1, 1, 1.1, 5}}, "prior.bounded.geometricMeanUpper"},
		{Prior{Bounded: &BoundedPrior{1, inf, 1.1, 5}}, "prior.bounded.geometricMeanUpper"},
		{Prior{Bounded: &BoundedPrior{1, 10, 1, 5}}, "prior.bounded.geometricStandardDeviationLower"},
		{Prior{Bounded: &BoundedPrior{1, 10, 2, 1.5}}, "prior.bounded.geometricStandardDeviationUpper"},
		{Prior{Informed: &InformedPrior{-1, 3, 2, 1.3}}, "prior.informed.geometricMean"},
		{Prior{Informed: &InformedPrior{1, 1, 2, 1.3}}, "prior.informed.geometricMeanFactor"},
		{Prior{Informed: &InformedPrior{1, 3, 0.9, 1.3}}, "prior.informed.geometricStandardDeviation"},
		{Prior{Informed: &InformedPrior{1, 3, 2, nan}}, "prior.informed.geometricStandardDeviationFactor"},
		{Prior{Carried: &CarriedPrior{nil, 1.1}}, "prior.carried.weight"},
		{Prior{Carried: &CarriedPrior{nil, nan}}, "prior.carried.weight"},
		{Prior{Carried: &CarriedPrior{[]reading.Reading{reading.At(1), reading.At(-2)}, 1}}, "prior.carried.readings[1].value"},
		{Prior{Bounded: &BoundedPrior{0.01, 10, 1.1, 5}, Carried: &CarriedPrior{}}, "prior"},
	} {
		err := c.prior.Check()
		if c.field == "" {
			require.NoError(t, err)
			require.NotEmpty(t, c.prior.String())
			continue
		}
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), c.field)
		var f *fault.Error
		require.ErrorAs(t, err, &f)
		require.Equal(t, c.field, f.Violations[0].Field)
	}
	require.True(t, Prior{}.IsReference())
	require.False(t, Prior{Carried: &CarriedPrior{}}.IsReference())
}

// sameAnswers compares two posteriors by the probabilities of each other's answers.
func sameAnswers(t *testing.T, want, got *Quadrature, tolerance float64) {
	t.Helper()
	for _, ask := range questions(0.5) {
		for _, p := range []float64{0.05, 0.5, 0.95} {
			v, err := ask.answer(got, p)
			require.NoError(t, err)
			below, err := ask.below(want, v)
			require.NoError(t, err)
			require.InDelta(t, p, below, tolerance, ask.name)
		}
	}
}

func TestCarriedPrior(t *testing.T) {
	t.Parallel()
	all := benchmarkReadings()
	early, late := all[:9], all[9:]
	carry := func(weight float64) *Quadrature {
		q, err := New(likelihood.NewData(late, 1), Prior{Carried: &CarriedPrior{early, weight}}, 0)
		require.NoError(t, err)
		return q
	}
	alone, err := New(likelihood.NewData(late, 1), Prior{}, 0)
	require.NoError(t, err)
	together, err := New(likelihood.NewData(all, 1), Prior{}, 0)
	require.NoError(t, err)
	sameAnswers(t, alone, carry(0), slack)
	sameAnswers(t, together, carry(1), slack)
	// Ten times a reading at weight 0.1 is one reading.
	var tenfold []reading.Reading
	for _, r := range early {
		for range 10 {
			tenfold = append(tenfold, r)
		}
	}
	q, err := New(likelihood.NewData(late, 1), Prior{Carried: &CarriedPrior{tenfold, 0.1}}, 0)
	require.NoError(t, err)
	sameAnswers(t, together, q, slack)
	// Half a campaign is too little by itself, and says so.
	_, err = New(likelihood.Data{}, Prior{Carried: &CarriedPrior{early[:2], 0.5}}, 0)
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
	_, err = New(likelihood.Data{}, Prior{Carried: &CarriedPrior{early[:2], 0.505}}, 0)
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
	require.ErrorContains(t, err, "weigh only")
}

// With next to no bounds and a density of 1/sigma the bounded prior would be the reference prior; it is flat in sigma, which is the
// reference posterior with one reading's worth of sigma more: exactly that of n - 1 values with the same sum of squares.
func TestBoundedPriorWide(t *testing.T) {
	t.Parallel()
	const n = 12
	values := make([]reading.Reading, n)
	for i := range values {
		values[i] = reading.At(math.Exp(0.6 * math.Sin(2.3*float64(i))))
	}
	d := likelihood.NewData(values, 1)
	q, err := New(d, Prior{Bounded: &BoundedPrior{1e-9, 1e9, 1 + 1e-9, 1e12}}, 0)
	require.NoError(t, err)
	for _, p := range []float64{0.05, 0.5, 0.95} {
		s, err := q.Spread(p)
		require.NoError(t, err)
		require.InDelta(t, p, numeric.ChiSquareSurvival(n-2, d.Squares/(s*s)), 1e-8)
		m, err := q.Quantile(0, p)
		require.NoError(t, err)
		scale := math.Sqrt(d.Squares / (n - 2) / n)
		require.InDelta(t, p, numeric.StudentTCDF(n-2, (m-d.Mean)/scale), 1e-8)
	}
}

// Against brute force, for readings that say little: the prior decides.
func TestPriorsBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("a slow second way")
	}
	t.Parallel()
	readings := []reading.Reading{reading.Under(0.5), reading.Under(0.5), reading.Under(1)}
	informed := InformedPrior{0.4, 2.5, 2.2, 1.4}
	lm, ls := math.Log(informed.GeometricMeanFactor), math.Log(informed.GeometricStandardDeviationFactor)
	center := math.Log(math.Log(informed.GeometricStandardDeviation))
	for _, c := range []struct {
		prior Prior
		brute brute
	}{
		{
			Prior{Informed: &informed},
			brute{
				density: func(mu, sigma float64) float64 {
					x, y := (mu-math.Log(informed.GeometricMean))/lm, (math.Log(sigma)-center)/ls
					return math.Exp(-0.5*(x*x+y*y)) / sigma
				},
				muLower: math.Inf(-1), muUpper: math.Inf(1), sigmaLower: 0.05, sigmaUpper: 12,
			},
		},
		{
			Prior{Bounded: &BoundedPrior{0.01, 3, 1.3, 4}},
			brute{
				density: func(_, _ float64) float64 { return 1 },
				muLower: math.Log(0.01), muUpper: math.Log(3), sigmaLower: math.Log(1.3), sigmaUpper: math.Log(4),
			},
		},
	} {
		b := c.brute
		b.readings = readings
		q, err := New(likelihood.NewData(readings, 1), c.prior, 0)
		require.NoError(t, err)
		for _, z := range []float64{0, 1.2} {
			for _, at := range []float64{-1.5, 0, 0.8} {
				want := b.below(func(sigma float64) float64 { return at - z*sigma })
				require.InDelta(t, want, q.Below(z, at), bruteForce, "%v, z = %v, at %v", c.prior, z, at)
			}
		}
		want := b.below(func(sigma float64) float64 { return 0.3 - 0.5*sigma*sigma })
		m, err := q.of(MeanKind, 0)
		require.NoError(t, err)
		require.InDelta(t, want, m.below(0.3-q.f.origin), bruteForce)
	}
}
