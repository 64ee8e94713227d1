package variance

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
)

// TestQuadrature compares a zone's integral with a sum over 100,000 nodes, on both sides of the seam between equal and packed nodes, and
// logs the error of an adaptive 7-point Gauss–Hermite rule.
func TestQuadrature(t *testing.T) {
	t.Parallel()
	at, under, over := reading.At, reading.Under, reading.Over
	zones := map[string][]reading.Reading{
		"values":           {at(1), at(2), at(0.5)},
		"some below":       {at(1.4), at(2), under(0.8)},
		"all below":        {under(1), under(1), under(1)},
		"two limits":       {under(1), under(0.4), under(0.4), under(2)},
		"all above":        {over(3), over(1)},
		"below and above":  {under(3), over(0.5)},
		"a band and below": {reading.Within(0.2, 5), under(2)},
	}
	hermiteWorst := 0.0
	for name, readings := range zones {
		grouped, err := gather(in("a", readings...), zoneOf, "zone")
		require.NoError(t, err)
		z := &grouped[0]
		for _, p := range []place{{0, 0.5, 0.7}, {0.3, 1, 0.2}, {0.3, 1, 0.05}, {-2, 3, 0.02}, {3, 0.3, 0.3}} {
			var e effect
			got := z.integrate(p, &e)
			const half, step = 10, 2e-4
			peak := z.node(p, e.mode).value
			sum := 0.0
			for u := -half + e.mode; u < half+e.mode; u += step {
				sum += math.Exp(z.node(p, u).value - peak)
			}
			require.InDelta(t, math.Log(sum*step)+peak-0.5*logTwoPi, got.value, 2e-10, "%s %+v", name, p)
			if p.between <= 5*p.within {
				hermiteWorst = max(hermiteWorst, math.Abs(gaussHermite(z, p, e.mode)-got.value))
			}
		}
	}
	t.Logf("the adaptive 7-point Gauss–Hermite rule is off by up to %.2g in ln likelihood for sigma_b up to 5 sigma_w", hermiteWorst)
	require.Greater(t, hermiteWorst, 1e-3, "if that were accurate, the grid would be needless")
}

// gaussHermite is the adaptive rule, centered at the mode and scaled by the curvature there.
func gaussHermite(z *zone, p place, mode float64) float64 {
	at := z.at(p.mu+p.between*mode, p.within)
	width := 1 / math.Sqrt(1-p.between*p.between*at.mm)
	nodes, weights := hermite()
	sum := 0.0
	for i, x := range nodes {
		sum += weights[i] * math.Exp(x*x+z.node(p, mode+math.Sqrt2*x*width).value)
	}
	return math.Log(sum*math.Sqrt2*width) - 0.5*logTwoPi
}

// TestHermite: the rule integrates even powers against exp(-x²) exactly, up to degree 12: sqrt(pi) (2m-1)!!/2^m.
func TestHermite(t *testing.T) {
	t.Parallel()
	nodes, weights := hermite()
	want := math.Sqrt(math.Pi)
	for m := range 7 {
		sum := 0.0
		for i, x := range nodes {
			sum += weights[i] * math.Pow(x, 2*float64(m))
		}
		require.InEpsilon(t, want, sum, 1e-14)
		want *= (2*float64(m) + 1) / 2
	}
}
