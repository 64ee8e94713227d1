package numeric

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestGaussLegendre(t *testing.T) {
	t.Parallel()
	// Exact up to degree 39.
	got := GaussLegendre(func(x float64) float64 { return math.Pow(x, 38) }, -1, 1)
	require.InEpsilon(t, 2.0/39, got, 1e-14)
	got = GaussLegendre(func(x float64) float64 { return math.Pow(x, 39) }, 0, 1)
	require.InEpsilon(t, 1.0/40, got, 1e-14)
	require.InEpsilon(t, math.Expm1(3), GaussLegendre(math.Exp, 0, 3), 1e-15)
	require.InEpsilon(t, -math.Expm1(3), GaussLegendre(math.Exp, 3, 0), 1e-15)
	require.InEpsilon(t, 0.25*math.Pi, GaussLegendre(func(x float64) float64 { return 1 / (1 + x*x) }, 0, 1), 1e-15)
	weights := 0.0
	for _, g := range GaussRule() {
		weights += 2 * g.Weight
	}
	require.InDelta(t, 2, weights, 1e-15)
}

// TestIntegratePeakedGamma integrates Gamma(a) = ∫ exp(a u - e^u) du, a shape
// with a slow exponential left side and a doubly exponential right one. Source:
// math.Lgamma, and Gamma(1/2)² = pi.
func TestIntegratePeakedGamma(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{0.1, 0.5, 1, 2.5, 10, 1e3, 1e6} {
		for _, guess := range []float64{0, math.Log(a), -20} {
			r, err := IntegratePeaked(func(u float64) float64 { return a*u - math.Exp(u) }, guess, 0.3)
			require.NoError(t, err, "a %g guess %g", a, guess)
			want, _ := math.Lgamma(a)
			require.InDelta(t, want, r.Log, 2e-13+2e-16*math.Abs(want), "a %g guess %g", a, guess)
			require.LessOrEqual(t, r.Error, 1e-13)
		}
	}
	half, err := IntegratePeaked(func(u float64) float64 { return 0.5*u - math.Exp(u) }, 0, 1)
	require.NoError(t, err)
	require.InDelta(t, 0.5*math.Log(math.Pi), half.Log, 1e-13)
}

func TestIntegratePeakedErrors(t *testing.T) {
	t.Parallel()
	for name, logf := range map[string]func(float64) float64{
		"rising":        func(x float64) float64 { return x },
		"constant":      func(float64) float64 { return 1 },
		"one side only": func(x float64) float64 { return math.Min(0, x) },
		"NaN":           func(float64) float64 { return math.NaN() },
		"infinite":      func(float64) float64 { return math.Inf(1) },
		"NaN outside": func(x float64) float64 {
			if math.Abs(x) > 2 {
				return math.NaN()
			}
			return -x * x
		},
		"infinite beside": func(x float64) float64 { return math.Max(-1, 1/(5-x)) },
	} {
		_, err := IntegratePeaked(logf, 0, 1)
		require.Error(t, err, name)
	}
	_, err := IntegratePeaked(func(x float64) float64 { return -x * x }, 0, 0)
	require.ErrorIs(t, err, ErrNoPeak)
	_, err = IntegratePeaked(func(x float64) float64 { return -x * x }, math.Inf(1), 1)
	require.ErrorIs(t, err, ErrNoPeak)
	// A kink is not analytic: the sums never agree to full precision, and that is
	// said instead of hidden.
	r, err := IntegratePeaked(func(x float64) float64 { return -math.Abs(x - 0.1234) }, 0, 1)
	require.ErrorIs(t, err, ErrNoConvergence)
	require.InDelta(t, math.Ln2, r.Log, 1e-4)
}

func TestFindPeakHard(t *testing.T) {
	t.Parallel()
	// Zero outside an interval: -Inf is allowed.
	p, err := FindPeak(func(x float64) float64 {
		if x <= 2 || x >= 3 {
			return math.Inf(-1)
		}
		return math.Log(x-2) + 3*math.Log(3-x)
	}, 2.9, 0.01, 40)
	require.NoError(t, err)
	require.InDelta(t, 2.25, p.Mode, 0.02)
	require.GreaterOrEqual(t, p.Lo, 1.9)
	require.LessOrEqual(t, p.Lo, 2.0001)
	require.GreaterOrEqual(t, p.Hi, 2.9)
}

func TestIntegratePeakedProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(-1e3, 1e3).Draw(t, "mean")
		sigma := math.Exp(rapid.Float64Range(-7, 7).Draw(t, "ln sigma"))
		lift := rapid.Float64Range(-1e4, 1e4).Draw(t, "lift")
		guess := mean + sigma*rapid.Float64Range(-50, 50).Draw(t, "offset")
		scale := sigma * math.Exp(rapid.Float64Range(-5, 5).Draw(t, "ln scale"))
		r, err := IntegratePeaked(func(x float64) float64 {
			z := (x - mean) / sigma
			return lift - 0.5*z*z
		}, guess, scale)
		require.NoError(t, err)
		want := lift + math.Log(sigma) + lnSqrt2Pi
		// A rounding of x near the mean is worth mean/sigma units, one of logf lift.
		require.InDelta(t, want, r.Log, 1e-12+1e-15*math.Abs(lift)+1e-14*math.Abs(mean)/sigma)
		require.InDelta(t, mean, r.Peak.Mode, 0.21*sigma)
		require.Less(t, r.Peak.Lo, mean-8.5*sigma)
		require.Greater(t, r.Peak.Hi, mean+8.5*sigma)
	})
}

func BenchmarkIntegratePeaked(b *testing.B) {
	for b.Loop() {
		r, _ := IntegratePeaked(func(u float64) float64 { return 5*u - math.Exp(u) }, 0, 1)
		sink = r.Log
	}
}
