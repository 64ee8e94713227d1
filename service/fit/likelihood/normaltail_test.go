package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// laplace is the Mills ratio and 1 - x times it by Laplace's continued fraction 1/(x + 1/(x + 2/(x + ...))), a second method
// (Abramowitz and Stegun 26.2.14). Deep enough for x >= 2.
func laplace(x float64) (m, lack float64) {
	rest := x
	for k := 2000.0; k >= 2; k-- {
		rest = x + k/rest
	}
	// m = 1/(x + 1/rest), so 1 - x m = m/rest.
	m = 1 / (x + 1/rest)
	return m, m / rest
}

func TestMillsAgreesWithTheContinuedFraction(t *testing.T) {
	t.Parallel()
	for _, x := range []float64{2, 3, 5, 8, 11.5, math.Nextafter(12, 0), 12, 12.5, 20, 38, 100, 1e4, 1e8} {
		m, lack := mills(x)
		wantM, wantLack := laplace(x)
		require.InEpsilon(t, wantM, m, 4e-14, x)
		// The quotient below the seam loses x² units in the last place, and 1 - x m as many again.
		require.InEpsilon(t, wantLack, lack, 5e-12, x)
	}
}

// Reference: ln Phi by 50-digit arithmetic from the definition is ln(m phi), checked through the continued fraction; the
// slopes must be those of the value.
func TestTailBelowOnBothSidesOfItsSeams(t *testing.T) {
	t.Parallel()
	for _, z := range []float64{-1e3, -40, -12.01, -12, -11.99, -6, -2.5} {
		m, lack := laplace(-z)
		got := TailBelow(z)
		require.InEpsilon(t, math.Log(m)-0.5*z*z-logRootTwoPi, got.value, 1e-14, z)
		require.InEpsilon(t, 1/m, got.slope, 2e-14, z)
		require.InEpsilon(t, lack/(m*m), got.bend, 4e-12, z)
	}
	// Phi(1) = 0.841344746068542948585..., from memory, and its relations at 0.
	require.InEpsilon(t, math.Log(0.8413447460685429), TailBelow(1).value, 1e-14)
	require.InEpsilon(t, math.Log(0.5), TailBelow(0).value, 1e-15)
	require.InEpsilon(t, math.Sqrt(2/math.Pi), TailBelow(0).slope, 1e-15)
	require.InEpsilon(t, 2/math.Pi, TailBelow(0).bend, 1e-15)
	require.Equal(t, tailTerm{}, TailBelow(60))
}

func TestSliceBetweenMirrors(t *testing.T) {
	t.Parallel()
	for _, c := range [][2]float64{{-1, 2}, {0, 3}, {1, 4}, {11, 13}, {30, 31}, {500, 501}, {-40, 40}} {
		got, mirrored := sliceBetween(c[0], c[1]), sliceBetween(-c[1], -c[0])
		require.Equal(t, sliceTerm{mirrored.value, mirrored.upper, mirrored.lower}, got, c)
	}
	// In the far tail the lower end carries all: the upper one is exp(-(b²-a²)/2) of it.
	far := sliceBetween(500, 501)
	require.InEpsilon(t, TailBelow(-500).value, far.value, 1e-15)
	require.InEpsilon(t, TailBelow(-500).slope, far.lower, 1e-14)
	// Phi(1) - Phi(-1) = 0.682689492137085897170..., from memory.
	require.InEpsilon(t, math.Log(0.6826894921370859), sliceBetween(-1, 1).value, 1e-14)
}
