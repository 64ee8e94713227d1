package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
)

// mixedData has every kind of reading, with two weights.
func mixedData() Data {
	d := onScale([]float64{-0.4, 0.3, 1.1}, []Bound{{-1, 2}, {0.2, 1}}, []Bound{{1.5, 1}, {0.7, 0.5}},
		[]Band{{-0.5, 0.4, 1}, {0.1, 0.1 + 1e-5, 1}, {2, 5, 0.25}})
	return d
}

// The derivatives are those of the value: central differences of the value and of the slopes, whose own error is about 1e-9.
func TestSurfaceDerivatives(t *testing.T) {
	t.Parallel()
	d := mixedData()
	l := Function{Data: &d, Origin: 0.2}
	const h = 1e-5
	for _, p := range [][2]float64{{0, 1}, {0.5, 2}, {-3, 0.7}, {6, 5}, {0.1, 0.05}, {-20, 9}} {
		alpha, beta := p[0], p[1]
		s := l.At(alpha, beta)
		left, right := l.At(alpha-h, beta), l.At(alpha+h, beta)
		down, up := l.At(alpha, beta-h), l.At(alpha, beta+h)
		near := func(want, got float64) { require.InDelta(t, want, got, 2e-7*(1+math.Abs(want))) }
		near((right.Value-left.Value)/(2*h), s.A)
		near((up.Value-down.Value)/(2*h), s.B)
		near((right.A-left.A)/(2*h), s.AA)
		near((up.A-down.A)/(2*h), s.AB)
		near((right.B-left.B)/(2*h), s.AB)
		near((up.B-down.B)/(2*h), s.BB)
	}
}

// The value is the plain sum of logarithms of densities and probabilities, here taken from package numeric.
func TestSurfaceValue(t *testing.T) {
	t.Parallel()
	d := mixedData()
	const mu, sigma, origin = 0.35, 0.8, -2.0
	want := 0.0
	for _, y := range []float64{-0.4, 0.3, 1.1} {
		want += math.Log(numeric.NormalDensity((y-mu)/sigma) / sigma)
	}
	for _, p := range d.Below {
		want += p.Weight * numeric.LogNormalCDF((p.At-mu)/sigma)
	}
	for _, p := range d.Above {
		want += p.Weight * numeric.LogNormalCDF((mu-p.At)/sigma)
	}
	for _, p := range d.Between {
		want += p.Weight * numeric.LogNormalDifference((p.Lower-mu)/sigma, (p.Upper-mu)/sigma)
	}
	got := Function{Data: &d, Origin: origin}.At((mu-origin)/sigma, 1/sigma)
	require.InEpsilon(t, want, got.Value, 1e-12)
}

// A band just narrow enough to be integrated and one just too wide for that agree in value and derivatives.
func TestBandSeam(t *testing.T) {
	t.Parallel()
	for _, beta := range []float64{0.3, 1, 40} {
		for _, middle := range []float64{0, 0.4, -3, 11, -30} {
			y := 0.7
			alpha := beta*y - middle
			h := narrowLimit / (1 + math.Abs(middle)) / beta
			inside, outside := BandTerm(y, h*(1-1e-9), alpha, beta), BandTerm(y, h*(1+1e-9), alpha, beta)
			require.InDelta(t, inside.Value, outside.Value, 1e-8)
			for _, c := range [][2]float64{{inside.A, outside.A}, {inside.B, outside.B}, {inside.AA, outside.AA}, {inside.AB, outside.AB}, {inside.BB, outside.BB}} {
				require.InDelta(t, c[0], c[1], 1e-7*(1+math.Abs(c[0])), "beta %v middle %v", beta, middle)
			}
		}
	}
}

// A band that shrinks to a point is a reading with that value, but for the logarithm of its width.
func TestBandShrinksToAValue(t *testing.T) {
	t.Parallel()
	point := onScale([]float64{0.7}, nil, nil, nil)
	for _, h := range []float64{1e-5, 1e-8, 1e-12} {
		want := Function{Data: &point}.At(0.4, 1.7)
		got := BandTerm(0.7, h, 0.4, 1.7)
		require.InDelta(t, want.Value+math.Log(2*h), got.Value, 1e-9)
		for _, c := range [][2]float64{{want.A, got.A}, {want.B, got.B}, {want.AA, got.AA}, {want.AB, got.AB}, {want.BB, got.BB}} {
			require.InDelta(t, c[0], c[1], 1e-9)
		}
	}
}
