package trace_test

import (
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

// Ten times the rows take no more memory: what ten times the trace allocates in all, also what was given back since, stays within
// what a few averages take. It is not parallel, so that nothing else allocates meanwhile.
func TestReducerMemory(t *testing.T) {
	allocated := func(readings int) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		reduceReadings(t, readings)
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	reduceReadings(t, 1e4) // What is made once is made now.
	short, long := allocated(1e5), allocated(1e6)
	t.Logf("1e5 readings allocate %d bytes, 1e6 readings %d", short, long)
	require.Less(t, long, short+16<<10)
}

// reduceReadings reduces a trace of five channels and one session to its averages.
func reduceReadings(t *testing.T, readings int) {
	t.Helper()
	const channels = 5
	o := trace.Options{Coverage: trace.DefaultCoverage}
	for range channels {
		o.Channels = append(o.Channels, trace.Channel{DetectionLimit: 1, FullScale: 500})
	}
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	values := make([]float64, channels)
	at := morning
	for i := range readings / channels {
		for c := range values {
			values[c] = float64(i * (c + 7) % 600)
		}
		if err := r.Add(at, values); err != nil {
			t.Fatal(err)
		}
		at = at.Add(time.Second)
	}
	result, err := r.Finish()
	require.NoError(t, err)
	require.Len(t, result.Averages, channels)
}
