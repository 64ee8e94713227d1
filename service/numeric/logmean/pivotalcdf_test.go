package logmean

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The law is the inverse of Pivotal, which is held to testdata/reference/lognormal_mean_limits.csv, and its density the slope.
func TestPivotalCDFInvertsPivotal(t *testing.T) {
	t.Parallel()
	for _, n := range []int{2, 3, 6, 40} {
		for _, p := range []float64{1e-4, 0.05, 0.5, 0.95, 0.9999} {
			v, err := Pivotal(n, 0.3, 0.9, p)
			require.NoError(t, err)
			below, density := PivotalCDF(n, 0.3, 0.9, v)
			require.InEpsilon(t, p, below, 1e-8, "%d readings at %v", n, p)
			h := 1e-4 * math.Max(math.Abs(v), 0.1)
			up, _ := PivotalCDF(n, 0.3, 0.9, v+h)
			down, _ := PivotalCDF(n, 0.3, 0.9, v-h)
			require.InEpsilon(t, (up-down)/(2*h), density, 1e-5, "%d readings at %v", n, p)
		}
	}
}

func TestPivotalCDFDomain(t *testing.T) {
	t.Parallel()
	for _, below := range []float64{
		first(PivotalCDF(1, 0, 1, 0)), first(PivotalCDF(5, 0, 0, 0)), first(PivotalCDF(5, math.NaN(), 1, 0)), first(PivotalCDF(5, 0, 1, math.NaN())),
	} {
		require.True(t, math.IsNaN(below))
	}
}

func first(v, _ float64) float64 { return v }
