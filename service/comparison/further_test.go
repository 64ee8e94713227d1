package comparison

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
)

// As many further readings as are proposed settle the question with about the chance stated, if the estimates hold: over 1500 pairs
// of 20 and 10 readings 81 % for the 80 % stated, and 89 % with 30 % of the readings censored. TAILBOUND_COVERAGE sets the pairs.
func TestFurtherReadingsSettle(t *testing.T) {
	t.Parallel()
	pairs := 150
	if long, err := strconv.Atoi(os.Getenv("TAILBOUND_COVERAGE")); err == nil {
		pairs = long
	}
	for _, share := range []float64{0, 0.3} {
		source := rand.New(rand.NewPCG(9, 9))
		settled, asked := 0, 0
		const shift = -0.8
		limit := 0.0
		if share > 0 {
			limit = math.Exp(0.8 * quantileOf(share))
		}
		for range pairs {
			a, b := lognormal(source, 20, 0, 0.8, limit), lognormal(source, 10, shift, 0.8, limit*math.Exp(shift))
			f, g := fit.New(a, fit.Options{}), fit.New(b, fit.Options{})
			r, err := Compare([]Campaign{{"a", a, &f}, {"b", b, &g}}, Options{})
			require.NoError(t, err)
			n := r.Pairs[0].Further
			if n == 0 || n > 100 {
				continue
			}
			b = append(b, lognormal(source, n, g.Mu, g.Sigma, limit*math.Exp(shift))...)
			g = fit.New(b, fit.Options{})
			r, err = Compare([]Campaign{{"a", a, &f}, {"b", b, &g}}, Options{})
			require.NoError(t, err)
			asked++
			if p := r.Pairs[0].Percentile; p.Upper < 1 || p.Lower > 1 {
				settled++
			}
		}
		t.Logf("share %v: %d of %d", share, settled, asked)
		require.Greater(t, asked, 20)
		require.InDelta(t, 0.8, float64(settled)/float64(asked), 0.1+2*math.Sqrt(0.16/float64(asked)))
	}
}
