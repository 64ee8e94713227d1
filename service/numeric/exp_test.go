package numeric

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestExpWeightAgainstStandardLibrary(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for x := -707.9; x < 700; x += 0.01037 {
		worst = math.Max(worst, relative(expWeight(x), math.Exp(x)))
	}
	for x := -1.0; x < 1; x += 1.7e-5 {
		worst = math.Max(worst, relative(expWeight(x), math.Exp(x)))
	}
	t.Logf("worst relative difference from math.Exp %.2g", worst)
	require.LessOrEqual(t, worst, 4.5e-16) // Two units of rounding, one for each.
	require.InDelta(t, 1, expWeight(0), 0)
	require.Zero(t, expWeight(-709))
	require.True(t, math.IsNaN(expWeight(math.NaN())))
}
