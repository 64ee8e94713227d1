package figure

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report/figure/sheet"
)

func labels(ticks []sheet.Tick) []string {
	out := make([]string, len(ticks))
	for i, t := range ticks {
		out[i] = t.Label
	}
	return out
}

func TestLogTicks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		low, high float64
		most      int
		want      []string
	}{
		{0.04, 2.5, 12, []string{"0.05", "0.1", "0.2", "0.5", "1", "2"}},
		{8e-11, 4e-10, 12, []string{"1e-10", "2e-10", "3e-10", "4e-10"}},
		{0.9, 2e6, 8, []string{"1", "10", "100", "1000", "10000", "100000", "1000000"}},
		{1e-9, 1e9, 8, []string{"1e-9", "1e-6", "0.001", "1", "1000", "1000000", "1e9"}},
		{20.8, 23.6, 12, []string{"21", "22", "23"}},
	} {
		require.Equal(t, c.want, labels(logTicks(c.low, c.high, c.most)))
	}
}

// The places of the percentages, against upper percentage points of the standard normal distribution: NIST/SEMATECH e-Handbook of
// Statistical Methods, 1.3.6.7.1 (1.645 and 2.326 for 5 and 1 %; 0.994 for 16 % from memory).
func TestPercentTicks(t *testing.T) {
	t.Parallel()
	ticks := sheet.PercentTicks(-2.5, 2.5, reading.Stated)
	require.Equal(t, []string{"1", "5", "16", "50", "84", "95", "99"}, labels(ticks))
	for i, want := range []float64{-2.326, -1.645, -0.994, 0, 0.994, 1.645, 2.326} {
		require.InDelta(t, want, ticks[i].Value, 5e-4)
	}
}
