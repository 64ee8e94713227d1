package posterior

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/numeric"
)

// Source: numeric.LogNormalCDF, itself checked against 40-digit values.
func TestPhiTable(t *testing.T) {
	t.Parallel()
	var table phiTable
	for x := -40.0; x < 10; x += 0.00371 {
		want := numeric.LogNormalCDF(x)
		require.InDelta(t, want, table.log(x), 1e-14*math.Abs(want)+4e-16, "x = %v", x)
		sums := []float64{1}
		table.addTail(sums, []float64{2}, []float64{0.5}, (x-0.5)/2, 3)
		require.InDelta(t, 1+3*want, sums[0], 1e-13*(1+math.Abs(want)), "x = %v", x)
	}
}

// Source: numeric.LogNormalDifference, which integrates narrow bands.
func TestPhiTableBand(t *testing.T) {
	t.Parallel()
	var table phiTable
	for x := -14.0; x < 14; x += 0.0371 {
		for half := 1e-9; half < 5; half *= 1.7 {
			want := numeric.LogNormalDifference(x-half, x+half)
			require.InDelta(t, want, table.logBand(x-half, x+half), 3e-12, "%v ± %v", x, half)
		}
	}
}

// shapes are of each kind.
func shapes() []shape {
	return []shape{
		{},
		{stretch: 0.01},
		{stretch: 0.05, bow: 0.3},
		{stretch: 0.01, bow: -0.3},
		{stretch: 0.01, reach: 2, lean: 0.5},
		{stretch: 0.01, reach: 2, lean: -0.5, bow: 0.1},
	}
}

func TestShapes(t *testing.T) {
	t.Parallel()
	for _, s := range shapes() {
		zero, one := s.at(0)
		require.InDelta(t, 0, zero, 1e-14)
		require.InDelta(t, 1+s.stretch, one, 1e-12)
		for x := -5.0; x < 5; x += 0.1 {
			place, slope := s.at(x)
			require.InDelta(t, x, s.invert(place), 1e-13)
			const h = 1e-5
			up, _ := s.at(x + h)
			down, _ := s.at(x - h)
			require.InDelta(t, 1, (up-down)/(2*h*slope), 1e-8)
		}
	}
}

func TestWarpEdges(t *testing.T) {
	t.Parallel()
	inf := math.Inf(1)
	for _, w := range []warp{
		{center: 1, width: 2, lower: -3, upper: inf},
		{center: 1, width: 2, lower: -inf, upper: 0.2},
		{center: 1, width: 2, lower: -5, upper: 3},
		{center: 1, width: 2, lower: -0.05, upper: 0.01},
		{center: 1, width: 2, lower: -50, upper: 30},
		{center: 1, width: 2, lower: 0, upper: 14},
	} {
		lower, upper := w.center+w.width*w.lower, w.center+w.width*w.upper
		last := math.Inf(-1)
		for x := -60.0; x <= 60; x += 0.37 {
			place, slope := w.at(x)
			require.True(t, place >= lower-1e-12 && place <= upper+1e-12 && slope >= 0, "%v of %v", x, w)
			require.GreaterOrEqual(t, place, last)
			last = place
			if slope < 1e-3 {
				continue
			}
			require.InDelta(t, x, w.invert(place), 1e-8)
			const h = 1e-5
			up, _ := w.at(x + h)
			down, _ := w.at(x - h)
			require.InDelta(t, slope, (up-down)/(2*h), 1e-6*slope+1e-9)
		}
		require.True(t, math.IsInf(w.invert(lower-1e-9), -1) && math.IsInf(w.invert(upper+1e-9), 1))
	}
}

// Each family of curves fills the half-plane: a place is found again from its coordinates, and the Jacobian is the one that finite
// differences give.
func TestCurves(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		mu := rapid.Float64Range(-3, 3).Draw(t, "mu")
		lambda := rapid.Float64Range(-2, 2).Draw(t, "lambda")
		curves := []curve{
			&percentileCurve{z: rapid.Float64Range(-3, 4).Draw(t, "z")},
			&scoreCurve{q: rapid.Float64Range(-3, 5).Draw(t, "q")},
			&spreadCurve{}, &spreadCurve{errorVariance: 0.3},
			&meanCurve{}, &highMeanCurve{base: mu - 0.2},
		}
		for _, c := range curves {
			outer, inner := c.locate(mu, lambda)
			m, l, jacobian := placeOn(c, outer, inner)
			require.InDelta(t, mu, m, 1e-9*(1+math.Abs(mu)))
			require.InDelta(t, lambda, l, 1e-9)
			const h = 1e-5
			m1, l1, _ := placeOn(c, outer+h, inner)
			m2, l2, _ := placeOn(c, outer-h, inner)
			m3, l3, _ := placeOn(c, outer, inner+h)
			m4, l4, _ := placeOn(c, outer, inner-h)
			determinant := ((m1-m2)*(l3-l4) - (m3-m4)*(l1-l2)) / (4 * h * h)
			require.InDelta(t, 1, math.Abs(determinant)/math.Exp(jacobian), 1e-5, "%T", c)
		}
	})
}

// placeOn is mu and lambda at a place on a curve, with the logarithm of the Jacobian.
func placeOn(c curve, outer, inner float64) (mu, lambda, jacobian float64) {
	var p batch
	p.sized(1)
	c.on(outer)
	c.at([]float64{inner}, &p)
	return p.anchor - p.t[0]/p.b[0], p.lambda[0], p.log[0]
}

// A curve is inside the box just where its places are.
func TestCurvesInside(t *testing.T) {
	t.Parallel()
	b := &box{muLower: -2, muUpper: 1, sigmaLower: 0.2, sigmaUpper: 2.5}
	rapid.Check(t, func(t *rapid.T) {
		mu := rapid.Float64Range(-4, 3).Draw(t, "mu")
		lambda := rapid.Float64Range(-3, 2).Draw(t, "lambda")
		sigma := math.Exp(lambda)
		// On the very edge rounding decides.
		const edge = 1e-9
		for _, gap := range []float64{mu - b.muLower, mu - b.muUpper, sigma - b.sigmaLower, sigma - b.sigmaUpper} {
			if math.Abs(gap) < edge {
				t.Skip("on the edge")
			}
		}
		in := mu > b.muLower && mu < b.muUpper && sigma > b.sigmaLower && sigma < b.sigmaUpper
		for _, c := range []curve{
			&percentileCurve{z: 1.6}, &percentileCurve{z: 0}, &percentileCurve{z: -0.7}, &scoreCurve{q: 2}, &scoreCurve{q: -0.5},
			&spreadCurve{}, &spreadCurve{errorVariance: 0.3}, &meanCurve{},
		} {
			outer, inner := c.locate(mu, lambda)
			c.on(outer)
			lower, upper := c.inside(b)
			require.Equal(t, in, lower < upper && inner > lower && inner < upper, "%T", c)
		}
	})
}

// The quantiles of a series invert its integral, and the density is its slope.
func TestSeries(t *testing.T) {
	t.Parallel()
	const n, step = 41, 0.4
	values := make([]float64, n)
	for i := range values {
		x := step * float64(i-n/2)
		values[i] = numeric.NormalDensity(x)
	}
	w := warp{width: 1, lower: math.Inf(-1), upper: math.Inf(1)}
	first := -step * (float64(n/2) + 0.5)
	m := marginal{pieces: []piece{newPiece(w, values, first, step)}}
	m.mass = m.pieces[0].mass
	require.InDelta(t, 1, m.mass, 1e-14)
	require.Less(t, m.pieces[0].roughness(), 1e-12)
	for x := -6.0; x <= 6; x += 0.37 {
		require.InDelta(t, numeric.NormalCDF(x), m.below(x), 1e-13)
		_, density := m.pieces[0].below(x - first)
		require.InDelta(t, numeric.NormalDensity(x), density, 1e-12)
	}
	for _, p := range []float64{1e-4, 0.05, 0.5, 0.95, 0.9999} {
		v, err := m.quantile(p)
		require.NoError(t, err)
		require.InDelta(t, numeric.NormalQuantile(p), v, 1e-9)
	}
}
