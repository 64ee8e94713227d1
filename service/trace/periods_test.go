package trace_test

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/trace"
)

// Periods by the clock: a trace that begins at 06:00 with a warm-up of 7 min, averaged by the quarter of an hour, covers 8 min of the
// first one. It matters not how far off the origin is, nor on which side.
func TestPeriodsByTheClock(t *testing.T) {
	t.Parallel()
	values := make([]float64, 40)
	for i := range values {
		values[i] = float64(i)
	}
	for _, origin := range []time.Time{
		time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC), time.Date(1750, 1, 1, 0, 15, 0, 0, time.UTC), time.Date(2190, 1, 1, 12, 45, 0, 0, time.UTC),
	} {
		o := one()
		o.Period, o.WarmUp, o.PeriodOrigin = 15*time.Minute, 7*time.Minute, origin
		got := feed(t, o, time.Minute, values...).Averages
		require.Len(t, got, 3)
		require.Equal(t, morning, got[0].Start)
		require.InDelta(t, 8.0/15, got[0].Coverage, 1e-12)
		require.False(t, got[0].Usable)
		require.Equal(t, 7*time.Minute, got[0].LongestGap)
		require.InDelta(t, 10.5, got[0].Lower, 1e-12, "the minutes 7 to 14")
		require.Equal(t, morning.Add(15*time.Minute), got[1].Start)
		require.InDelta(t, 22, got[1].Lower, 1e-12)
		require.InDelta(t, 10.0/15, got[2].Coverage, 1e-12)
	}
}

// Two tasks overlap, one begins between two rows, one was never met. Each is averaged by its own time.
func TestTasks(t *testing.T) {
	t.Parallel()
	values := make([]float64, 60)
	for i := range values {
		values[i] = float64(i)
	}
	o := one()
	o.Tasks = []trace.Task{
		{Name: "cleaning", Start: morning.Add(30 * time.Minute), Length: 10 * time.Minute},
		{Name: "night", Start: morning.Add(12 * time.Hour), Length: time.Hour},
		{Name: "weighing", Start: morning.Add(10*time.Minute + 30*time.Second), Length: 25 * time.Minute},
		{Name: "before", Start: morning.Add(-time.Hour), Length: time.Hour},
	}
	result := feed(t, o, time.Minute, values...)
	require.Equal(t, []string{"night", "before"}, result.Report.Missed)
	require.Len(t, result.Averages, 2)
	cleaning, weighing := result.Averages[0], result.Averages[1]
	require.Equal(t, "cleaning", cleaning.Task)
	require.InDelta(t, 34.5, cleaning.Lower, 1e-12)
	require.Equal(t, 10, cleaning.Values)
	// Half a minute at 10, the minutes 11 to 34, half a minute at 35.
	require.Equal(t, "weighing", weighing.Task)
	require.Equal(t, morning.Add(10*time.Minute+30*time.Second), weighing.Start)
	require.InDelta(t, (0.5*10+(11+34)*24/2+0.5*35)/25, weighing.Lower, 1e-12)
	require.InDelta(t, 1, weighing.Coverage, 1e-12)
	require.Equal(t, 25, weighing.Values, "the value carried into the task is not one of its own")
}

// A task that lasts as long as the session is the session, whatever the gaps, and as many at once as there are do not mix.
func TestTaskOfAllTheSession(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(0, 10), rapid.Just(math.NaN())), 2, 200).Draw(t, "values")
		o := one()
		o.Channels[0] = trace.Channel{DetectionLimit: 2, FullScale: 9}
		o.WithinPeriod = true
		whole := feed(t, o, time.Minute, values...).Averages[0]
		for i := range rapid.IntRange(1, 5).Draw(t, "tasks") {
			o.Tasks = append(o.Tasks, trace.Task{Name: strconv.Itoa(i), Start: morning, Length: whole.Length})
		}
		for _, a := range feed(t, o, time.Minute, values...).Averages {
			a.Task = ""
			requireSame(t, whole, a)
		}
	})
}

// requireSame compares averages, of which NaN may be a part.
func requireSame(t require.TestingT, want, got trace.Average) {
	for _, pair := range [][2]*float64{
		{&want.Lower, &got.Lower},
		{&want.Upper, &got.Upper},
		{&want.Peak, &got.Peak},
		{&want.Autocorrelation, &got.Autocorrelation},
		{&want.Effective, &got.Effective},
	} {
		require.Equal(t, math.Float64bits(*pair[0]), math.Float64bits(*pair[1]))
		*pair[0], *pair[1] = 0, 0
	}
	require.Equal(t, want, got)
}

// A task goes on over the end of a session; rows of the warm-up of the next one are left out of it.
func TestTaskOverTwoSessions(t *testing.T) {
	t.Parallel()
	o := one()
	o.SessionGap, o.WarmUp, o.Interval = 10*time.Minute, 2*time.Minute, time.Minute
	o.Tasks = []trace.Task{{Name: "all morning", Start: morning, Length: time.Hour}}
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for i := range 60 {
		if i < 20 || i >= 40 {
			require.NoError(t, r.Add(morning.Add(time.Duration(i)*time.Minute), []float64{float64(i)}))
		}
	}
	result, err := r.Finish()
	require.NoError(t, err)
	require.Len(t, result.Averages, 1)
	a := result.Averages[0]
	require.Equal(t, 36*time.Minute, a.Observed)
	require.Equal(t, 22*time.Minute, a.LongestGap)
	require.InDelta(t, ((2.0+19)*18/2+(42.0+59)*18/2)/36, a.Lower, 1e-12)
}

func TestPeriodsAndTasksAreChecked(t *testing.T) {
	t.Parallel()
	ten := trace.Task{Name: "a", Start: morning, Length: 10 * time.Minute}
	for want, spoil := range map[string]func(*trace.Options){
		"periodOrigin: is stated without averagingPeriod":             func(o *trace.Options) { o.PeriodOrigin = morning },
		"periodOrigin: is not a time between the years 1700 and 2200": func(o *trace.Options) { o.Period, o.PeriodOrigin = time.Hour, morning.AddDate(500, 0, 0) },
		"tasks: are stated beside averagingPeriod":                    func(o *trace.Options) { o.Period, o.Tasks = time.Hour, []trace.Task{ten} },
		"tasks: has 1001 entries; accepted are at most 1000":          func(o *trace.Options) { o.Tasks = make([]trace.Task, 1001) },
		"tasks[1].name: is empty":                                     func(o *trace.Options) { o.Tasks = []trace.Task{ten, {Start: morning, Length: 1}} },
		"tasks[0].start: is not a time":                               func(o *trace.Options) { o.Tasks = []trace.Task{{Name: "a", Length: 1}} },
		"tasks[0].length: is 0 s; accepted":                           func(o *trace.Options) { o.Tasks = []trace.Task{{Name: "a", Start: morning}} },
		"tasks[0].length: is 10 min, shorter than the logging":        func(o *trace.Options) { o.Interval, o.Tasks = time.Hour, []trace.Task{ten} },
		"tasks: has 300 that go on at one time; accepted are at most 128, for 1 channels": func(o *trace.Options) {
			for range 300 {
				o.Tasks = append(o.Tasks, ten)
			}
		},
		"channels[0].level: is stated without withinPeriod": func(o *trace.Options) { o.Channels[0].Level = 1 },
		"channels[0].level: is -1":                          func(o *trace.Options) { o.Channels[0].Level = -1 },
	} {
		o := one()
		spoil(&o)
		_, err := trace.NewReducer(o)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	o := one()
	o.MaxAverages, o.Tasks = 1, []trace.Task{ten, ten}
	_, err := trace.NewReducer(o)
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))

	late := one()
	late.Tasks = []trace.Task{{Name: "late", Start: morning.Add(time.Hour), Length: time.Hour}}
	r, err := trace.NewReducer(late)
	require.NoError(t, err)
	require.NoError(t, r.Add(morning, []float64{1}))
	require.NoError(t, r.Add(morning.Add(time.Minute), []float64{1}))
	_, err = r.Finish()
	require.ErrorContains(t, err, "nothing was logged during any of the tasks; the last row is of 2026-03-09T06:01:00Z")
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
}
