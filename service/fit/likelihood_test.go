package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
)

// mixedData has every kind of reading, with two weights.
func mixedData() data {
	d := onScale([]float64{-0.4, 0.3, 1.1}, []bound{{-1, 2}, {0.2, 1}}, []bound{{1.5, 1}, {0.7, 0.5}},
		[]band{{-0.5, 0.4, 1}, {0.1, 0.1 + 1e-5, 1}, {2, 5, 0.25}})
	return d
}

// The derivatives are those of the value: central differences of the value and of the slopes, whose own error is about 1e-9.
func TestSurfaceDerivatives(t *testing.T) {
	t.Parallel()
	d := mixedData()
	l := likelihood{d: &d, origin: 0.2}
	const h = 1e-5
	for _, p := range [][2]float64{{0, 1}, {0.5, 2}, {-3, 0.7}, {6, 5}, {0.1, 0.05}, {-20, 9}} {
		alpha, beta := p[0], p[1]
		s := l.at(alpha, beta)
		left, right := l.at(alpha-h, beta), l.at(alpha+h, beta)
		down, up := l.at(alpha, beta-h), l.at(alpha, beta+h)
		near := func(want, got float64) { require.InDelta(t, want, got, 2e-7*(1+math.Abs(want))) }
		near((right.value-left.value)/(2*h), s.a)
		near((up.value-down.value)/(2*h), s.b)
		near((right.a-left.a)/(2*h), s.aa)
		near((up.a-down.a)/(2*h), s.ab)
		near((right.b-left.b)/(2*h), s.ab)
		near((up.b-down.b)/(2*h), s.bb)
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
	for _, p := range d.below {
		want += p.weight * numeric.LogNormalCDF((p.at-mu)/sigma)
	}
	for _, p := range d.above {
		want += p.weight * numeric.LogNormalCDF((mu-p.at)/sigma)
	}
	for _, p := range d.between {
		want += p.weight * numeric.LogNormalDifference((p.lower-mu)/sigma, (p.upper-mu)/sigma)
	}
	got := likelihood{d: &d, origin: origin}.at((mu-origin)/sigma, 1/sigma)
	require.InEpsilon(t, want, got.value, 1e-12)
}

// A band just narrow enough to be integrated and one just too wide for that agree in value and derivatives.
func TestBandSeam(t *testing.T) {
	t.Parallel()
	for _, beta := range []float64{0.3, 1, 40} {
		for _, middle := range []float64{0, 0.4, -3, 11, -30} {
			y := 0.7
			alpha := beta*y - middle
			h := narrowLimit / (1 + math.Abs(middle)) / beta
			inside, outside := bandTerm(y, h*(1-1e-9), alpha, beta), bandTerm(y, h*(1+1e-9), alpha, beta)
			require.InDelta(t, inside.value, outside.value, 1e-8)
			for _, c := range [][2]float64{{inside.a, outside.a}, {inside.b, outside.b}, {inside.aa, outside.aa}, {inside.ab, outside.ab}, {inside.bb, outside.bb}} {
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
		want := likelihood{d: &point}.at(0.4, 1.7)
		got := bandTerm(0.7, h, 0.4, 1.7)
		require.InDelta(t, want.value+math.Log(2*h), got.value, 1e-9)
		for _, c := range [][2]float64{{want.a, got.a}, {want.b, got.b}, {want.aa, got.aa}, {want.ab, got.ab}, {want.bb, got.bb}} {
			require.InDelta(t, c[0], c[1], 1e-9)
		}
	}
}
