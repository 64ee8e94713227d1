package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/trace"
)

func TestOptionsAreChecked(t *testing.T) {
	t.Parallel()
	for want, spoil := range map[string]func(*trace.Options){
		"channels: has 0 entries":                            func(o *trace.Options) { o.Channels = nil },
		"channels: has 65 entries":                           func(o *trace.Options) { o.Channels = make([]trace.Channel, 65) },
		"channels[0].detectionLimit: is -1":                  func(o *trace.Options) { o.Channels[0].DetectionLimit = -1 },
		"channels[0].detectionLimit: is NaN":                 func(o *trace.Options) { o.Channels[0].DetectionLimit = math.NaN() },
		"channels[0].fullScale: is 0":                        func(o *trace.Options) { o.Channels[0].FullScale = 0 },
		"averagingPeriod: is -1 s":                           func(o *trace.Options) { o.Period = -time.Second },
		"warmUp: is -1 s":                                    func(o *trace.Options) { o.WarmUp = -time.Second },
		"coverage: is NaN":                                   func(o *trace.Options) { o.Coverage = math.NaN() },
		"coverage: is 1.1":                                   func(o *trace.Options) { o.Coverage = 1.1 },
		"clockJumps[1].row: is 4":                            func(o *trace.Options) { o.ClockJumps = []trace.ClockJump{{Row: 4}, {Row: 4}} },
		"averagingPeriod: is 1 s, shorter than":              func(o *trace.Options) { o.Period, o.Interval = time.Second, time.Minute },
		"sessionGap: is 1 min; accepted is at least 1.5":     func(o *trace.Options) { o.SessionGap, o.Interval = time.Minute, time.Minute },
		"channels[0].calibration.gas: is 0":                  func(o *trace.Options) { o.Channels[0].Calibration = &trace.Calibration{} },
		"channels[0].calibration.after.span: is 0":           func(o *trace.Options) { o.Channels[0].Calibration = checked(0, 9, 0, 0) },
		"channels[0].calibration.before.span: is 9, not abo": func(o *trace.Options) { o.Channels[0].Calibration = checked(9, 9, 0, 10) },
	} {
		o := one()
		spoil(&o)
		_, err := trace.NewReducer(o)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
}

func TestRowsAreChecked(t *testing.T) {
	t.Parallel()
	for want, row := range map[string]struct {
		at     time.Time
		values []float64
	}{
		"values: row 0 has 2 values":                    {morning, []float64{1, 2}},
		"values: row 0, channel 0 is -Inf; accepted":    {morning, []float64{math.Inf(-1)}},
		"times: row 0 is not between the years 1700 an": {time.Time{}, []float64{1}},
	} {
		r, err := trace.NewReducer(one())
		require.NoError(t, err)
		require.ErrorContains(t, r.Add(row.at, row.values), want)
	}
}

func TestTooShortATrace(t *testing.T) {
	t.Parallel()
	finish := func(o trace.Options, rows int) error {
		r, err := trace.NewReducer(o)
		require.NoError(t, err)
		for i := range rows {
			require.NoError(t, r.Add(morning.Add(time.Duration(i)*time.Minute), []float64{1}))
		}
		_, err = r.Finish()
		return err
	}
	require.ErrorContains(t, finish(one(), 0), "values: has no rows")
	require.ErrorContains(t, finish(one(), 1), "interval: cannot be found")
	o := one()
	o.WarmUp = time.Hour
	err := finish(o, 10)
	require.ErrorContains(t, err, "ends within the 1 h of the warm-up")
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
	o = one()
	o.Period, o.MaxAverages = 2*time.Minute, 4
	err = finish(o, 10)
	require.ErrorContains(t, err, "makes too many averages")
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))
	o.MaxAverages = 5
	require.NoError(t, finish(o, 10))
}

// Rows of one time alone never show an interval, and are not kept for ever.
func TestManyRowsOfOneTime(t *testing.T) {
	t.Parallel()
	r, err := trace.NewReducer(one())
	require.NoError(t, err)
	n := 0
	for ; err == nil && n < 10_000; n++ {
		err = r.Add(morning, []float64{1})
	}
	require.ErrorContains(t, err, "interval: cannot be found in the trace, whose first 4096 rows have one time")
}
