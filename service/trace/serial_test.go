package trace_test

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

// hormone is R's data set datasets::lh.
func hormone() []float64 {
	return []float64{
		2.4, 2.4, 2.4, 2.2, 2.1, 1.5, 2.3, 2.3, 2.5, 2, 1.9, 1.7, 2.2, 1.8, 3.2, 3.2, 2.7, 2.2, 2.2, 1.9, 1.9, 1.8, 2.7, 3,
		2.3, 2, 2, 2.9, 2.9, 2.7, 2.7, 2.3, 2.6, 2.4, 1.8, 1.7, 1.5, 1.4, 2.1, 3.3, 3.5, 3.5, 3.1, 2.6, 2.1, 3.4, 3, 2.9,
	}
}

// Every correlation of trace_correlations.csv, by R's acf: see its header.
func TestCorrelationsMeetR(t *testing.T) {
	t.Parallel()
	of := map[string]trace.Average{
		"print_shop_ozone": reduce(t, "print_shop_ozone", instruments(t)["print_shop_ozone"].options()).Averages[0],
		"lh":               feed(t, one(), time.Minute, hormone()...).Averages[0],
	}
	lags := map[string]int{}
	for _, row := range rows(t, "../trace_correlations.csv")[1:] {
		a := of[row[0]]
		require.Equal(t, row[1], strconv.Itoa(a.Values))
		lag, err := strconv.Atoi(row[2])
		require.NoError(t, err)
		want, err := strconv.ParseFloat(row[3], 64)
		require.NoError(t, err)
		if lag == 0 {
			require.InDelta(t, want, a.Effective, 1e-11)
			continue
		}
		require.InDelta(t, want, a.Correlations[lag-1], 1e-12, "%s, lag %d", row[0], lag)
		lags[row[0]] = lag
	}
	require.Equal(t, map[string]int{"print_shop_ozone": 26, "lh": 16}, lags)
	require.Len(t, of["lh"].Correlations, 16)
	require.Len(t, of["print_shop_ozone"].Correlations, 26)
}

// Values on either side of a gap are not paired, at any lag: three runs of 1, 2, 3, 4 have 3 · (4 − k) pairs of lag k.
func TestCorrelationsStopAtGaps(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	a := feed(t, one(), time.Minute, 1, 2, 3, 4, nan, nan, 1, 2, 3, 4, nan, nan, 1, 2, 3, 4).Averages[0]
	// About the mean of 2.5 the products of lag 1 sum to 0.75 − 0.25 + 0.75 = 1.25 a run, of lag 2 to −1.5, of lag 3 to −2.25; the
	// variance is 1.25. Each covariance is over its pairs plus the lag.
	require.Len(t, a.Correlations, 3)
	require.InDelta(t, 3*1.25/10/1.25, a.Correlations[0], 1e-12)
	require.InDelta(t, 3*-1.5/8/1.25, a.Correlations[1], 1e-12)
	require.InDelta(t, 3*-2.25/6/1.25, a.Correlations[2], 1e-12)
	require.InDelta(t, a.Correlations[0], a.Autocorrelation, 0)
}

// A slow drift under fast noise: lag 1 says little, the sum over all lags tells it.
func TestSlowDriftIsWorthFewValues(t *testing.T) {
	t.Parallel()
	values := make([]float64, 600)
	for i := range values {
		values[i] = 50 + 10*math.Sin(2*math.Pi*float64(i)/600) + 15*math.Sin(float64(i*i))
	}
	a := feed(t, one(), time.Minute, values...).Averages[0]
	r := a.Autocorrelation
	require.Greater(t, 600*(1-r)/(1+r), 150.0)
	require.Less(t, a.Effective, 60.0)
	require.True(t, a.Lasting)
	require.False(t, feed(t, one(), time.Minute, hormone()...).Averages[0].Lasting)
}
