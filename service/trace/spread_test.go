package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

// The moments of ln 1, ln 2, ... by the textbook, with one value under the detection limit, one over the range, and none lost.
func TestSpread(t *testing.T) {
	t.Parallel()
	o := one()
	o.WithinPeriod = true
	o.Channels[0] = trace.Channel{DetectionLimit: 0.5, FullScale: 100, Level: 3}
	a := feed(t, o, time.Minute, 1, 2, 4, 8, 0.2, 100, 120).Averages[0]
	s := a.Spread
	require.InDelta(t, 4, s.Exact, 1e-12)
	require.InDelta(t, 1.5*math.Ln2, s.Mean, 1e-12)
	require.InDelta(t, 5*math.Ln2*math.Ln2, s.Squares, 1e-12, "2 · (1.5² + 0.5²)")
	require.InDelta(t, 0, s.Minimum, 0)
	require.InDelta(t, 3*math.Ln2, s.Maximum, 1e-15)
	require.InDelta(t, 1, s.Below, 1e-12)
	require.InDelta(t, 2, s.Over, 1e-12)
	require.InDelta(t, math.Log(100), s.OverFrom, 1e-15)
	require.Zero(t, s.Without)
	require.Equal(t, 4*time.Minute, s.Above, "4, 8, 100 and 120")
	require.Zero(t, s.Perhaps)

	require.Nil(t, feed(t, one(), time.Minute, 1, 2).Averages[0].Spread)
}

// What a sensor did not see may or may not have been over the level.
func TestTimeOverALevelIsBounded(t *testing.T) {
	t.Parallel()
	o := one()
	o.WithinPeriod = true
	for level, want := range map[float64][2]time.Duration{
		0.1: {4 * time.Minute, time.Minute}, 0.5: {3 * time.Minute, 0}, 1: {2 * time.Minute, 0}, 150: {0, time.Minute},
	} {
		o.Channels[0] = trace.Channel{DetectionLimit: 0.5, FullScale: 100, Level: level}
		s := feed(t, o, time.Minute, 0.2, 0.5, 1, 10, 120).Averages[0].Spread
		require.Equal(t, want, [2]time.Duration{s.Above, s.Perhaps}, "%v", level)
	}
}

// Zeros have no logarithm; without a detection limit nothing else is known of them.
func TestValuesWithoutALogarithm(t *testing.T) {
	t.Parallel()
	o := one()
	o.WithinPeriod = true
	s := feed(t, o, time.Minute, 0, -1, 3).Averages[0].Spread
	require.InDelta(t, 2, s.Without, 1e-12)
	require.InDelta(t, 1, s.Exact, 1e-12)
}

// A sensor that lost a tenth of its span by the end is corrected, and what it showed at its full scale with it: the values over the
// range are known to lie over the smallest corrected one, and the detection limit, of the true concentration, stays.
func TestSpreadOfCorrectedValues(t *testing.T) {
	t.Parallel()
	o := one()
	o.WithinPeriod = true
	o.Channels[0] = trace.Channel{DetectionLimit: 1, FullScale: 90, Calibration: &trace.Calibration{
		Gas: 100, Before: trace.Check{At: morning, Span: 100}, After: trace.Check{At: morning.Add(4 * time.Minute), Span: 80}, Tolerance: 1, Correct: true,
	}}
	s := feed(t, o, time.Minute, 10, 0.98, 0.8, 95, 92).Averages[0].Spread
	// 0.98 / 0.95 = 1.03 is over the limit once corrected; 0.8 / 0.9 = 0.89 is not.
	require.InDelta(t, 2, s.Exact, 1e-12)
	require.InDelta(t, (math.Log(10)+math.Log(0.98/0.95))/2, s.Mean, 1e-12)
	require.InDelta(t, 1, s.Below, 1e-12)
	require.InDelta(t, 2, s.Over, 1e-12)
	require.InDelta(t, math.Log(95/0.85), s.OverFrom, 1e-12)
}
