package comparison

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// coverage is the share of simulated pairs in which each one-sided limit lies on its side of the truth.
type coverage struct {
	pairs                                int
	gmLower, gmUpper, ownLower, ownUpper float64
	percentileLower, percentileUpper     float64
	meanLower, meanUpper                 float64
}

// simulate draws pairs of campaigns of na and nb readings with spreads sa and sb, of which a share is below one limit, and no change
// of the geometric mean. Pairs of which a number is not determined are not counted.
func simulate(seed uint64, pairs, na, nb int, sa, sb, share float64) coverage {
	source := rand.New(rand.NewPCG(seed, 5))
	draw := func(n int, sigma float64) []reading.Reading {
		limit := 0.0
		if share > 0 {
			limit = math.Exp(sigma * quantileOf(share))
		}
		return lognormal(source, n, 0, sigma, limit)
	}
	var c coverage
	truth := z95(sb) - z95(sa)
	mean := half(sb) - half(sa)
	count := func(sum *float64, covered bool) {
		if covered {
			*sum++
		}
	}
	for range pairs {
		before, after := draw(na, sa), draw(nb, sb)
		f, g := fit.New(before, fit.Options{}), fit.New(after, fit.Options{})
		r, err := Compare([]Campaign{{"a", before, &f}, {"b", after, &g}}, Options{})
		if err != nil || math.IsNaN(r.Pairs[0].Lower) || math.IsNaN(r.Pairs[0].GeometricMean.Lower) {
			continue
		}
		p := &r.Pairs[0]
		c.pairs++
		count(&c.gmLower, math.Log(p.GeometricMean.Lower) <= 0)
		count(&c.gmUpper, math.Log(p.GeometricMean.Upper) >= 0)
		count(&c.ownLower, math.Log(p.Separate.Lower) <= 0)
		count(&c.ownUpper, math.Log(p.Separate.Upper) >= 0)
		count(&c.percentileLower, math.Log(p.Percentile.Lower) <= truth)
		count(&c.percentileUpper, math.Log(p.Percentile.Upper) >= truth)
		count(&c.meanLower, math.Log(p.ArithmeticMean.Lower) <= mean)
		count(&c.meanUpper, !(math.Log(p.ArithmeticMean.Upper) < mean))
	}
	for _, sum := range []*float64{
		&c.gmLower, &c.gmUpper, &c.ownLower, &c.ownUpper, &c.percentileLower, &c.percentileUpper, &c.meanLower, &c.meanUpper,
	} {
		*sum /= float64(c.pairs)
	}
	return c
}

// quantileOf is the normal quantile of a share of 0.3 or 0.5.
func quantileOf(share float64) float64 {
	if share == 0.3 {
		return -0.5244005127080409
	}
	return 0
}

// TestCoverage runs a short simulation; TAILBOUND_COVERAGE=20000 prints the table of a long one.
func TestCoverage(t *testing.T) {
	t.Parallel()
	pairs := 100
	long, err := strconv.Atoi(os.Getenv("TAILBOUND_COVERAGE"))
	if err == nil {
		pairs = long
	}
	for i, c := range []struct {
		na, nb        int
		sa, sb, share float64
	}{
		{6, 6, 0.8, 0.8, 0},
		{6, 12, 1, 0.6, 0},
		{12, 12, 0.7, 1.2, 0},
		{10, 10, 0.8, 0.8, 0.3},
		{20, 20, 0.8, 0.8, 0.3},
		{20, 20, 1.2, 0.6, 0.3},
		{20, 20, 0.8, 0.8, 0.5},
	} {
		if long == 0 && c.share == 0.5 {
			continue
		}
		got := simulate(uint64(i), pairs, c.na, c.nb, c.sa, c.sb, c.share)
		if long > 0 {
			t.Logf("%+v %+v", c, got)
		}
		// 0.015 of the nominal 0.95 when nothing is censored, and three standard errors of the simulation.
		tolerance := 0.015 + 3*math.Sqrt(0.95*0.05/float64(got.pairs))
		if c.share == 0 {
			require.InDelta(t, 0.95, got.gmLower, tolerance, "%+v", c)
			require.InDelta(t, 0.95, got.gmUpper, tolerance, "%+v", c)
			require.InDelta(t, 0.95, got.percentileLower, tolerance, "%+v", c)
			require.InDelta(t, 0.95, got.percentileUpper, tolerance, "%+v", c)
			continue
		}
		require.GreaterOrEqual(t, min(got.percentileLower, got.percentileUpper), 0.95-2*tolerance, "%+v", c)
	}
}
