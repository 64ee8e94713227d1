package numeric

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestRoot(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name         string
		f            func(x float64) (float64, float64)
		lo, hi, want float64
	}{
		{"square root", func(x float64) (float64, float64) { return x*x - 2, 2 * x }, 0, 2, math.Sqrt2},
		{"falling", func(x float64) (float64, float64) { return 2 - x*x, -2 * x }, 0, 2, math.Sqrt2},
		{"no slope", func(x float64) (float64, float64) { return x*x*x - 5, 0 }, 0, 2, math.Cbrt(5)},
		{"NaN slope", func(x float64) (float64, float64) { return x*x*x - 5, math.NaN() }, 0, 2, math.Cbrt(5)},
		{"steep", func(x float64) (float64, float64) { return math.Expm1(x - 1), math.Exp(x - 1) }, -700, 700, 1},
		// Newton alone runs away from an arctangent.
		{"runaway", func(x float64) (float64, float64) { return math.Atan(x - 3), 1 / (1 + (x-3)*(x-3)) }, -1e6, 1e7, 3},
		{"triple root", func(x float64) (float64, float64) { return (x - 1) * (x - 1) * (x - 1), 3 * (x - 1) * (x - 1) }, -3, 8, 1},
		{"at the low end", func(x float64) (float64, float64) { return x, 1 }, 0, 1, 0},
		{"at the high end", func(x float64) (float64, float64) { return x - 1, 1 }, 0, 1, 1},
		{"jump", func(x float64) (float64, float64) { return math.Copysign(1, x-0.3), 0 }, 0, 1, 0.3},
	} {
		got, err := Root(c.f, c.lo, c.hi)
		require.NoError(t, err, c.name)
		tolerance := 1e-15 * (1 + math.Abs(c.want))
		switch c.name {
		case "triple root":
			tolerance = 1e-5 // The function is zero to rounding around the root.
		case "jump":
			tolerance = 1e-11 // The secant across a jump is as small as the bracket.
		}
		require.InDelta(t, c.want, got, tolerance, c.name)
	}
}

func TestRootErrors(t *testing.T) {
	t.Parallel()
	one := func(float64) (float64, float64) { return 1, 0 }
	nan := func(float64) (float64, float64) { return math.NaN(), 0 }
	line := func(x float64) (float64, float64) { return x, 1 }
	_, err := Root(one, 0, 1)
	require.ErrorIs(t, err, ErrNoBracket)
	_, err = Root(nan, 0, 1)
	require.ErrorIs(t, err, ErrNoBracket)
	_, err = Root(line, math.Inf(-1), 1)
	require.ErrorIs(t, err, ErrNoBracket)
	_, err = Root(func(x float64) (float64, float64) {
		if x == 0.5 {
			return math.NaN(), 0
		}
		return x - 0.4, 1
	}, 0, 1)
	require.ErrorIs(t, err, ErrNoConvergence)
	for _, f := range []func(float64) (float64, float64){one, nan} {
		_, err = RootNear(f, 0, 1, -10, 10)
		require.ErrorIs(t, err, ErrNoBracket)
	}
	_, err = RootNear(line, 1, 0, -10, 10)
	require.ErrorIs(t, err, ErrNoBracket)
	_, err = RootNear(func(x float64) (float64, float64) {
		if x > 3 {
			return math.NaN(), 1
		}
		return -1 - x*x, 1
	}, 0, 1, -10, 10)
	require.ErrorIs(t, err, ErrNoBracket)
}

func TestRootNear(t *testing.T) {
	t.Parallel()
	cube := func(x float64) (float64, float64) { return x*x*x - 5, 3 * x * x }
	for _, guess := range []float64{-1e6, 0, 1.7, 1.70997594667669699, 1e6} {
		got, err := RootNear(cube, guess, 0.1, math.Inf(-1), math.Inf(1))
		require.NoError(t, err, "guess %g", guess)
		require.InEpsilon(t, math.Cbrt(5), got, 1e-15, "guess %g", guess)
	}
	// Without a slope both sides are tried.
	got, err := RootNear(func(x float64) (float64, float64) { return x*x*x - 5, 0 }, 3, 0.1, -100, 100)
	require.NoError(t, err)
	require.InEpsilon(t, math.Cbrt(5), got, 1e-15)
	// A guess outside the limits is moved to them.
	got, err = RootNear(cube, 50, 0.1, 0, 2)
	require.NoError(t, err)
	require.InEpsilon(t, math.Cbrt(5), got, 1e-15)
}

func TestRootProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		root := rapid.Float64Range(-50, 50).Draw(t, "root")
		rate := math.Exp(rapid.Float64Range(-3, 3).Draw(t, "ln rate"))
		// Monotone, with a knee at the root and an exact zero there.
		f := func(x float64) (float64, float64) {
			d := rate * (x - root)
			return d + math.Max(0, d)*d, rate * (1 + 2*math.Max(0, d))
		}
		got, err := Root(f, root-rapid.Float64Range(0.01, 1e3).Draw(t, "left"), root+rapid.Float64Range(0.01, 1e3).Draw(t, "right"))
		require.NoError(t, err)
		require.InDelta(t, root, got, 1e-14*(1+math.Abs(root)))
		near, err := RootNear(f, rapid.Float64Range(-1e3, 1e3).Draw(t, "guess"), 1, math.Inf(-1), math.Inf(1))
		require.NoError(t, err)
		require.InDelta(t, root, near, 1e-14*(1+math.Abs(root)))
	})
}
