package assess

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
)

// drawnCampaigns are two campaigns of 20 readings, a share of each below one limit.
func drawnCampaigns(censored bool) []reading.Group {
	source := rand.New(rand.NewPCG(1, 1))
	groups := []reading.Group{{Name: "before"}, {Name: "after"}}
	for i := range groups {
		groups[i].Agent, groups[i].Unit, groups[i].Limit = "dust", "mg/m3", &reading.Limit{Value: 4}
		shift := -0.3 * float64(i)
		for range 20 {
			v, floor := math.Exp(shift+source.NormFloat64()), math.Exp(shift-0.52)
			r := reading.At(v)
			if censored && v < floor {
				r = reading.Under(floor)
			}
			groups[i].Readings = append(groups[i].Readings, r)
		}
	}
	return groups
}

func TestCompareIsDeterministic(t *testing.T) {
	t.Parallel()
	groups := drawnCampaigns(true)
	first, err := new(Assessor).Compare("x", groups, 0.5, Options{})
	require.NoError(t, err)
	require.NotNil(t, first.Pairs[0].Exceedance)
	again, err := new(Assessor).Compare("x", groups, 0.5, Options{})
	require.NoError(t, err)
	require.Equal(t, first.Campaigns, again.Campaigns)
	a, b := first.Pairs[0], again.Pairs[0]
	// An absent number is a NaN, which is equal to nothing.
	require.True(t, math.IsNaN(a.Equal.PValue) && math.IsNaN(b.Equal.PValue))
	a.Equal, b.Equal = comparison.Test{}, comparison.Test{}
	require.Equal(t, a, b)
	// Calibrated limits and priors are no part of a comparison.
	other, err := new(Assessor).Compare("x", groups, 0.5, Options{Calibrated: true, RelativeError: 0.1, Prior: posterior.Prior{}})
	require.NoError(t, err)
	require.Equal(t, first.Campaigns, other.Campaigns)
}

// BenchmarkCompare is the whole answer about two campaigns of 20 readings, both assessments included.
func BenchmarkCompare(b *testing.B) {
	for name, censored := range map[string]bool{"30 % censored": true, "detected": false} {
		b.Run(name, func(b *testing.B) {
			groups := drawnCampaigns(censored)
			assessor := new(Assessor)
			b.ReportAllocs()
			for b.Loop() {
				_, err := assessor.Compare("", groups, 0.5, Options{})
				require.NoError(b, err)
			}
		})
	}
}
