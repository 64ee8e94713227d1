package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

// The French decree weighs to 8 h by C t / 8: 4 h at 10 count as 5, 10 h at 8 count as 10.
func TestWeighingToEightHours(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value, hours, want float64
	}{{10, 4, 5}, {8, 10, 10}, {8, 8, 8}} {
		b, err := trace.Weigh([]trace.Span{{Bounds: trace.Exactly(c.value), Length: time.Duration(c.hours * float64(time.Hour))}}, 8*time.Hour)
		require.NoError(t, err)
		require.InDelta(t, c.want, b.Lower, 1e-12)
		require.True(t, b.Exact())
	}
}

// Two hours at 8 with half an hour of gap in a day of eight, by each assumption.
func TestOverBaseTellsEachAssumption(t *testing.T) {
	t.Parallel()
	a := trace.Average{Bounds: trace.Exactly(8), Length: 2 * time.Hour, Observed: 90 * time.Minute}
	inf := math.Inf(1)
	for _, c := range []struct {
		gaps, outside trace.Assumption
		top           float64
		lower, upper  float64
	}{
		{trace.Zero, trace.Zero, inf, 1.5, 1.5},
		{trace.Same, trace.Zero, inf, 2, 2},
		{trace.Same, trace.Same, inf, 8, 8},
		{trace.Zero, trace.Same, inf, 7.5, 7.5},
		{trace.Unknown, trace.Zero, 100, 1.5, 1.5 + 6.25},
		{trace.Same, trace.Unknown, 100, 2, 77},
		{trace.Same, trace.Unknown, inf, 2, inf},
	} {
		b, err := a.OverBase(trace.Base{Length: 8 * time.Hour, Gaps: c.gaps, Outside: c.outside, Top: c.top})
		require.NoError(t, err)
		require.InDelta(t, c.lower, b.Lower, 1e-12)
		if math.IsInf(c.upper, 1) {
			require.Equal(t, c.upper, b.Upper)
		} else {
			require.InDelta(t, c.upper, b.Upper, 1e-12)
		}
	}
	full := trace.Average{Bounds: trace.Exactly(8), Length: 10 * time.Hour, Observed: 10 * time.Hour}
	b, err := full.OverBase(trace.Base{Length: 8 * time.Hour, Top: inf})
	require.NoError(t, err)
	require.InDelta(t, 10, b.Lower, 1e-12, "a long shift counts in full")
	require.True(t, b.Exact(), "nothing is unknown")
}

func TestBasesAreChecked(t *testing.T) {
	t.Parallel()
	_, err := (&trace.Average{Length: time.Hour}).OverBase(trace.Base{Length: time.Hour})
	require.ErrorContains(t, err, "nothing was observed")
	_, err = trace.Weigh(nil, 0)
	require.ErrorContains(t, err, "base: is 0 s")
	_, err = trace.Weigh([]trace.Span{{Length: -1}}, 1)
	require.ErrorContains(t, err, "length: is -0.000001 ms")
}

// checked is a calibration with a gas of 10 an hour before and nine hours after six in the morning.
func checked(zeroBefore, spanBefore, zeroAfter, spanAfter float64) *trace.Calibration {
	return &trace.Calibration{
		Gas: 10, Tolerance: trace.DefaultTolerance,
		Before: trace.Check{At: morning.Add(-time.Hour), Zero: zeroBefore, Span: spanBefore},
		After:  trace.Check{At: morning.Add(9 * time.Hour), Zero: zeroAfter, Span: spanAfter},
	}
}

func TestDriftIsReported(t *testing.T) {
	t.Parallel()
	d := checked(0.1, 10.2, 0.4, 8.9).Drift()
	require.InDeltaSlice(t, []float64{0.01, 0.02, 0.04, -0.11, 0.11},
		[]float64{d.ZeroBefore, d.SpanBefore, d.ZeroAfter, d.SpanAfter, d.Worst}, 1e-12)
	require.False(t, d.Passed)
	require.True(t, checked(0, 10, 0.5, 9.5).Drift().Passed)
}

// A sensor that lost a tenth of its span and a unit of zero over ten hours shows what it showed of a steady 5; corrected, it
// is 5 again.
func TestDriftIsTakenOut(t *testing.T) {
	t.Parallel()
	c := checked(0, 10, 1, 10)
	values := make([]float64, 480)
	for i := range values {
		f := (1 + float64(i)/60) / 10
		zero, span := f, 10.0
		values[i] = zero + 5*(span-zero)/10
	}
	o := one()
	o.Channels[0].Calibration = c
	require.Greater(t, feed(t, o, time.Minute, values...).Averages[0].Lower, 5.2, "reported only")
	c.Correct = true
	a := feed(t, o, time.Minute, values...).Averages[0]
	require.InDelta(t, 5, a.Lower, 1e-12)
	require.InDelta(t, 5, a.Peak, 1e-12)
}
