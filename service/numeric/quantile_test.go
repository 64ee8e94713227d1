package numeric

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestToleranceFactorTable(t *testing.T) {
	t.Parallel()
	worst, at := 0.0, []float64(nil)
	rows := referenceRows(t, "tolerance_factor.csv")
	for _, r := range rows {
		e := relative(ToleranceFactor(int(r[0]), r[1], r[2]), r[3])
		if !(e <= worst) {
			worst, at = e, r
		}
	}
	t.Logf("%d rows, worst relative error %.2g at %v", len(rows), worst, at)
	require.LessOrEqual(t, worst, 1e-12)
}
