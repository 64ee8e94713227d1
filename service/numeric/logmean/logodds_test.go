package logmean

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
)

// A logistic law has log-odds that are a straight line; a bent one needs several steps, from however poor a start.
func TestSolveLogit(t *testing.T) {
	t.Parallel()
	line := func(w float64) logOdds { return logOdds{value: 3 * (w - 1), slope: 3} }
	bent := func(w float64) logOdds {
		return logOdds{value: math.Sinh(w) + 0.1*w, slope: math.Cosh(w) + 0.1, curve: math.Sinh(w)}
	}
	for _, p := range []float64{0.001, 0.5, 0.95} {
		target := math.Log(p / (1 - p))
		for _, start := range []float64{-30, -1, 0, 2, 40} {
			w, err := solveLogit(start, p, line)
			require.NoError(t, err)
			require.InDelta(t, 1+target/3, w, 1e-14)
			w, err = solveLogit(start, p, bent)
			require.NoError(t, err)
			require.InDelta(t, target, bent(w).value, 1e-9)
		}
	}
}

// A law that does not reach the target, has no slope or is no number gives an error and never a number.
func TestSolveLogitRefuses(t *testing.T) {
	t.Parallel()
	for name, at := range map[string]func(w float64) logOdds{
		"not a number": func(float64) logOdds { return logOdds{value: math.NaN(), slope: 1} },
		"flat":         func(float64) logOdds { return logOdds{value: 1} },
		"falling":      func(w float64) logOdds { return logOdds{value: -w, slope: -1} },
		"infinite":     func(float64) logOdds { return logOdds{value: math.Inf(1), slope: 1} },
		"bounded":      func(w float64) logOdds { return logOdds{value: math.Atan(w), slope: 1 / (1 + w*w)} },
		"a jump":       func(w float64) logOdds { return logOdds{value: math.Copysign(9, w-0.3), slope: 1} },
	} {
		w, err := solveLogit(0, 0.95, at)
		require.ErrorIs(t, err, numeric.ErrNoConvergence, name)
		require.Zero(t, w, name)
	}
}
