package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/trace"
)

var morning = time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)

// one is a channel that sees everything.
func one() trace.Options {
	return trace.Options{Channels: []trace.Channel{{FullScale: math.Inf(1)}}, Coverage: trace.DefaultCoverage}
}

// feed reduces values of one channel, logged every so often from six in the morning; NaN is a blank row.
func feed(t require.TestingT, o trace.Options, every time.Duration, values ...float64) *trace.Result {
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for i, v := range values {
		require.NoError(t, r.Add(morning.Add(time.Duration(i)*every), []float64{v}))
	}
	result, err := r.Finish()
	require.NoError(t, err)
	return result
}

func repeated(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// 2 h at 150, 2 h at 75 and 4 h at 50 ppm make 81.25 ppm: the example of 29 CFR 1910.1000(d)(1).
func TestEightHourAverageOfTheRegulation(t *testing.T) {
	t.Parallel()
	values := append(append(repeated(150, 24), repeated(75, 24)...), repeated(50, 48)...)
	a := feed(t, one(), 5*time.Minute, values...).Averages[0]
	require.InDelta(t, 81.25, a.Lower, 1e-12)
	require.True(t, a.Exact())
	require.Equal(t, 8*time.Hour, a.Length)
	require.InDelta(t, 150, a.Largest.Lower, 1e-12)
	require.Equal(t, morning, a.LargestStart)

	b, err := trace.Weigh([]trace.Span{
		{Bounds: trace.Exactly(150), Length: 2 * time.Hour},
		{Bounds: trace.Exactly(75), Length: 2 * time.Hour},
		{Bounds: trace.Exactly(50), Length: 4 * time.Hour},
	}, 8*time.Hour)
	require.NoError(t, err)
	require.InDelta(t, 81.25, b.Lower, 1e-12)
}

// A channel's averages by each period.
func TestPeriods(t *testing.T) {
	t.Parallel()
	values := make([]float64, 150)
	for i := range values {
		values[i] = float64(1 + i/15)
	}
	for period, want := range map[time.Duration][]float64{
		0:                {5.5},
		15 * time.Minute: {1, 2, 3, 4, 5, 6, 7, 8, 9, 10},
		time.Hour:        {2.5, 6.5, 9.5},
		8 * time.Hour:    {5.5},
	} {
		o := one()
		o.Period = period
		result := feed(t, o, time.Minute, values...)
		require.Len(t, result.Averages, len(want))
		for i, a := range result.Averages {
			require.InDelta(t, want[i], a.Lower, 1e-12, "%v", period)
			require.Equal(t, morning.Add(time.Duration(i)*period), a.Start)
			require.Equal(t, a.Coverage >= 0.75, a.Usable)
			if period > 0 {
				require.Equal(t, period, a.Length)
			}
		}
	}
	o := one()
	o.Period = time.Hour
	last := feed(t, o, time.Minute, values...).Averages[2]
	require.InDelta(t, 0.5, last.Coverage, 1e-12)
	require.False(t, last.Usable, "half an hour is no hour")
	require.Equal(t, 30*time.Minute, last.LongestGap)
}

// A value stands until the next one if that comes within 1.5 intervals (design), across the edge of a period too.
func TestAValueStandsUntilTheNext(t *testing.T) {
	t.Parallel()
	o := one()
	o.Interval = time.Minute
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for _, row := range []struct {
		after time.Duration
		value float64
	}{{0, 2}, {90 * time.Second, 4}, {181 * time.Second, 6}} {
		require.NoError(t, r.Add(morning.Add(row.after), []float64{row.value}))
	}
	result, err := r.Finish()
	require.NoError(t, err)
	a := result.Averages[0]
	// 90 s of 2, then 60 s of 4 as the next came 91 s later, then 60 s of 6.
	require.InDelta(t, (90*2+60*4+60*6)/210.0, a.Lower, 1e-12)
	require.Equal(t, 31*time.Second, a.LongestGap)
	require.Equal(t, 1, a.Gaps)

	o.Period = 2 * time.Minute
	carried := feed(t, o, 80*time.Second, 3, 9, 3)
	require.InDelta(t, (80*3+40*9)/120.0, carried.Averages[0].Lower, 1e-12)
	require.InDelta(t, (40*9+60*3)/100.0, carried.Averages[1].Lower, 1e-12)
	require.Equal(t, 1, carried.Averages[1].Values, "the 9 was logged in the period before")
	require.Equal(t, morning.Add(2*time.Minute), carried.Averages[1].PeakAt)
}

// With a period of one interval a late value reaches over two edges.
func TestAValueReachesOverTwoEdges(t *testing.T) {
	t.Parallel()
	o := one()
	o.Interval, o.Period = time.Minute, time.Minute
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for _, row := range []struct{ second, value float64 }{{0, 5}, {50, 2}, {139, 4}, {199, 4}} {
		require.NoError(t, r.Add(morning.Add(time.Duration(row.second)*time.Second), []float64{row.value}))
	}
	result, err := r.Finish()
	require.NoError(t, err)
	require.Len(t, result.Averages, 3, "in the second minute nothing was logged")
	for i, want := range []float64{4.5, (19*2 + 41*4) / 60.0, 4} {
		require.InDelta(t, want, result.Averages[i].Lower, 1e-12)
		require.LessOrEqual(t, result.Averages[i].Coverage, 1.0)
	}
}

// Censoring: what the sensor could not see goes into the bounds of the average, never as a substitute.
func TestBoundsFollowTheSensor(t *testing.T) {
	t.Parallel()
	o := one()
	o.Channels[0] = trace.Channel{DetectionLimit: 1, FullScale: 100}
	for _, c := range []struct {
		name   string
		values []float64
		want   trace.Bounds
	}{
		{"exact", []float64{2, 4, 6}, trace.Exactly(4)},
		{"below", []float64{0.5, 0, -0.2, 0.9}, trace.Bounds{Upper: 1}},
		{"between", []float64{0.5, 3, 5, 4}, trace.Bounds{Lower: 3, Upper: 3.25}},
		{"above", []float64{100, 120, 2, 0.1}, trace.Bounds{Lower: 55.5, Upper: math.Inf(1)}},
		{"none", []float64{math.NaN(), math.NaN()}, trace.Exactly(math.NaN())},
	} {
		a := feed(t, o, time.Minute, c.values...).Averages[0]
		if c.name == "none" {
			require.True(t, math.IsNaN(a.Lower) && math.IsNaN(a.Upper) && math.IsNaN(a.Peak) && math.IsNaN(a.Effective))
			require.False(t, a.Usable)
			continue
		}
		require.InDelta(t, c.want.Lower, a.Lower, 1e-12, c.name)
		require.Equal(t, c.name == "above", math.IsInf(a.Upper, 1))
		require.True(t, a.Upper == c.want.Upper || math.Abs(a.Upper-c.want.Upper) < 1e-12, c.name)
	}
}

// Values under 0 of a sensor without a detection limit count as 0, and are told.
func TestNegativeValuesCountAsZero(t *testing.T) {
	t.Parallel()
	a := feed(t, one(), time.Minute, -3, 3, -3, 3).Averages[0]
	require.InDelta(t, 1.5, a.Lower, 1e-12)
	require.Equal(t, 2, a.Negative)
	// Noise is as far under 0 as over it; what is further is no noise, such as the mark of an instrument for no reading.
	o := one()
	o.Channels[0].DetectionLimit = 1
	a = feed(t, o, time.Minute, -0.9, 3, -999, 3).Averages[0]
	require.InDelta(t, 1.5, a.Lower, 1e-12)
	require.Equal(t, 2, a.Below)
	require.Equal(t, 1, a.Negative)
}

func TestSessionsBeginAnew(t *testing.T) {
	t.Parallel()
	o := one()
	o.SessionGap, o.WarmUp = time.Hour, 2*time.Minute
	values := append(repeated(2, 10), repeated(math.NaN(), 5)...)
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for day := range 2 {
		for i, v := range values {
			require.NoError(t, r.Add(morning.AddDate(0, 0, day).Add(time.Duration(i)*time.Minute), []float64{v}))
		}
	}
	result, err := r.Finish()
	require.NoError(t, err)
	require.Len(t, result.Averages, 2)
	require.Equal(t, 2, result.Report.Sessions)
	require.Equal(t, int64(4), result.Report.WarmUp)
	for day, a := range result.Averages {
		require.Equal(t, day, a.Session)
		require.Equal(t, morning.AddDate(0, 0, day).Add(2*time.Minute), a.Start)
		require.Equal(t, 13*time.Minute, a.Length)
		require.Equal(t, 8, a.Values)
	}
}

func TestBackwardsRowsAreRefusedOrSkipped(t *testing.T) {
	t.Parallel()
	add := func(o trace.Options) (*trace.Result, error) {
		o.Interval = time.Minute
		r, err := trace.NewReducer(o)
		require.NoError(t, err)
		for _, minute := range []int{0, 1, 2, 1, 2, 3} {
			if err := r.Add(morning.Add(time.Duration(minute)*time.Minute), []float64{float64(minute)}); err != nil {
				_, again := r.Finish()
				require.Equal(t, err, again)
				return nil, err
			}
		}
		return r.Finish()
	}
	_, err := add(one())
	require.ErrorContains(t, err, "times: row 3 goes back from 2026-03-09T06:02:00Z to 2026-03-09T06:01:00Z")
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	o := one()
	o.SkipBackwards = true
	result, err := add(o)
	require.NoError(t, err)
	require.Equal(t, int64(1), result.Report.Backwards)
	require.Equal(t, int64(3), result.Report.FirstBackwards)
	require.Equal(t, int64(1), result.Report.Channels[0].Duplicates, "the second 06:02 joins the first")
	require.InDelta(t, 1.5, result.Averages[0].Lower, 1e-12)

	set := one()
	set.ClockJumps = []trace.ClockJump{{Row: 3, Ahead: -2 * time.Minute}}
	result, err = add(set)
	require.NoError(t, err)
	require.Equal(t, 6*time.Minute, result.Averages[0].Length)
}

// The correlations are recomputed in exact rational arithmetic by a short script: the covariance of neighbors over their count + 1,
// the variance over n. The effective numbers are recomputed by another one over all lags (Geyer 1992); for the ozone, whose
// correlation falls off geometrically, it is that of lag 1, as it was for all before the sum over the lags.
func TestAutocorrelation(t *testing.T) {
	t.Parallel()
	of := instruments(t)
	for name, want := range map[string]struct {
		correlation, effective float64
		gaps                   int
	}{
		"foundry_co":        {0.7038427271745046, 83.387957562183, 2},
		"lab_voc":           {0.7226303132215157, 50.159842548947, 3},
		"baggage_hall_dust": {0.807449300926871, 40.713559275464, 6},
		"print_shop_ozone":  {0.7593287665628613, 65.66265171433432, 0},
	} {
		a := reduce(t, name, of[name].options()).Averages[0]
		require.InDelta(t, want.correlation, a.Autocorrelation, 1e-12, name)
		require.InDelta(t, want.effective, a.Effective, 1e-9, name)
		require.Equal(t, want.gaps, a.Gaps, name)
	}
	constant := feed(t, one(), time.Minute, 0.1, 0.1, 0.1, 0.1).Averages[0]
	require.True(t, math.IsNaN(constant.Autocorrelation) && math.IsNaN(constant.Effective))
	alternating := feed(t, one(), time.Minute, 1, 3, 1, 3, 1, 3).Averages[0]
	require.InDelta(t, 6, alternating.Effective, 1e-12, "never more than there are")
}

// longest15 goes through every window of 15 minutes that begins at a minute.
func longest15(values []float64) (largest float64, found bool) {
	for i := 0; i+15 <= len(values); i++ {
		total, n := 0.0, 0
		for _, v := range values[i : i+15] {
			if !math.IsNaN(v) {
				total += v
				n++
			}
		}
		if n >= 12 {
			largest, found = max(largest, total/float64(n)), true
		}
	}
	return largest, found
}

func TestLargestMeanIsThatOfTheBestWindow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 10), 2, 600).Draw(t, "values")
		for range rapid.IntRange(0, 20).Draw(t, "gaps") {
			at := rapid.IntRange(1, len(values)-1).Draw(t, "at")
			for i := at; i < min(at+rapid.IntRange(1, 5).Draw(t, "length"), len(values)); i++ {
				values[i] = math.NaN()
			}
		}
		got := feed(t, one(), time.Minute, values...).Averages[0].Largest
		want, found := longest15(values)
		require.Equal(t, found, got.Found)
		require.InDelta(t, want, got.Lower, 1e-10)
		require.InDelta(t, want, got.Upper, 1e-10)
	})
}

// The parts of a session weigh back to the session, whatever the gaps.
func TestPeriodsWeighBackToTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(0, 10), rapid.Just(math.NaN())), 2, 300).Draw(t, "values")
		o := one()
		o.Channels[0] = trace.Channel{DetectionLimit: 2, FullScale: 100}
		whole := feed(t, o, 7*time.Second, values...).Averages[0]
		o.Period = time.Duration(rapid.IntRange(7, 400).Draw(t, "period")) * time.Second
		var parts []trace.Span
		observed := time.Duration(0)
		for _, a := range feed(t, o, 7*time.Second, values...).Averages {
			if a.Observed > 0 {
				parts = append(parts, trace.Span{Bounds: a.Bounds, Length: a.Observed})
				observed += a.Observed
			}
		}
		// What is carried into a period without rows of its own is left out: less than an interval at the end.
		require.InDelta(t, whole.Observed.Seconds(), observed.Seconds(), 7)
		if observed == whole.Observed && observed > 0 {
			b, err := trace.Weigh(parts, observed)
			require.NoError(t, err)
			require.InDelta(t, whole.Lower, b.Lower, 1e-12)
			require.InDelta(t, whole.Upper, b.Upper, 1e-12)
		}
	})
}

// A logger of 100 Hz has more values in 15 minutes than are kept apart; the mean is what it would be at 1 Hz.
func TestFastLoggersKeepTheirMean(t *testing.T) {
	t.Parallel()
	values := make([]float64, 0, 120_000)
	for i := range 120_000 {
		values = append(values, float64(i/100))
	}
	a := feed(t, one(), 10*time.Millisecond, values...).Averages[0]
	// The last 900 of the seconds 0 to 1199.
	require.InDelta(t, 749.5, a.Largest.Lower, 0.06)
	require.InDelta(t, 599.5, a.Lower, 1e-9)
}
