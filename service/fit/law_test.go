package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
)

// Each law is held to the posterior that it comes from, its density to a difference, and the two kinds of posterior to each
// other on readings that all have a value.
func TestLawsAgree(t *testing.T) {
	t.Parallel()
	readings := []reading.Reading{reading.At(0.3), reading.At(0.9), reading.At(0.55), reading.At(2.1), reading.At(0.42), reading.At(1.1)}
	f := Uncensored(readings, nil)
	q, err := posterior.New(likelihood.NewData(readings, 1), posterior.Prior{}, 0)
	require.NoError(t, err)
	g := Fit{Posterior: &memory{Posterior: q}}
	laws := func(f *Fit) (out []posterior.Law) {
		for _, l := range []func() (posterior.Law, error){
			func() (posterior.Law, error) { return f.PercentileLaw(1.6448536269514722) },
			func() (posterior.Law, error) { return f.ScoreLaw(math.Log(2)) },
			f.LogMeanLaw, f.LogSpreadLaw,
		} {
			law, err := l()
			require.NoError(t, err)
			out = append(out, law)
		}
		return out
	}
	exact, integrated := laws(&f), laws(&g)
	for i := range exact {
		for _, p := range []float64{0.01, 0.2, 0.5, 0.9, 0.995} {
			v, err := exact[i].Quantile(p)
			require.NoError(t, err)
			below, density := exact[i].At(v)
			require.InDelta(t, p, below, 1e-9, "law %d at %v", i, p)
			w, err := integrated[i].Quantile(p)
			require.NoError(t, err)
			require.InDelta(t, v, w, 1e-6*(1+math.Abs(v)), "law %d at %v", i, p)
			other, slope := integrated[i].At(v)
			require.InDelta(t, p, other, 1e-8, "law %d at %v", i, p)
			const h = 1e-4
			up, _ := exact[i].At(v + h)
			down, _ := exact[i].At(v - h)
			require.InDelta(t, (up-down)/(2*h), density, 1e-6, "law %d at %v", i, p)
			require.InDelta(t, density, slope, 1e-6, "law %d at %v", i, p)
		}
	}
}

func TestLawIsRefused(t *testing.T) {
	t.Parallel()
	f := New([]reading.Reading{reading.At(1)}, Options{})
	_, err := f.PercentileLaw(0)
	require.ErrorContains(t, err, "fewer than two")
	f = New([]reading.Reading{reading.Under(1), reading.Under(2)}, Options{})
	_, err = f.LogMeanLaw()
	require.ErrorContains(t, err, "no posterior")
}
