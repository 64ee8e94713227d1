package report

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

func TestSpan(t *testing.T) {
	t.Parallel()
	for want, d := range map[string]time.Duration{
		"0": 0, "10.0 s": 10 * time.Second, "1 min": time.Minute, "1 min 30.0 s": 90 * time.Second, "25 min": 25 * time.Minute, "1 h": time.Hour,
		"8 h 52 min": 8*time.Hour + 52*time.Minute, "24 h": 24 * time.Hour, "8760 h": 365 * 24 * time.Hour, "0.100 s": 100 * time.Millisecond,
	} {
		require.Equal(t, want, Span(d))
	}
}

// noon is when the readings of these tests begin.
var noon = time.Date(2026, 3, 9, 12, 0, 0, 0, time.UTC)

// usable is an average of which all is known.
func usable(r reading.Reading) TraceAverage {
	a := TraceAverage{Agent: "dust", Unit: "mg/m3", Reading: TraceResult{Reading: r, Known: true}}
	a.Reading.Zone, a.Reading.ID, a.Reading.Start, a.Reading.Duration = "bay", "weighing", noon, time.Hour
	a.Usable, a.Peak, a.PeakAt = true, 7, noon.Add(20*time.Minute)
	a.Largest = trace.Rolling{Bounds: trace.Bounds{Lower: 4, Upper: 4.5}, Found: true}
	a.LargestStart = noon.Add(10 * time.Minute)
	return a
}

// Each number stands for its own time: the average for the period, the largest mean for 15 minutes, the peak for an interval.
func TestTaken(t *testing.T) {
	t.Parallel()
	a := usable(reading.At(3))
	r := a.Taken(TakeAverage, time.Minute)
	require.Equal(t, a.Reading, r)
	r = a.Taken(TakeLargest, time.Minute)
	require.True(t, r.Known)
	require.Equal(t, "4..4.5", resultText(&r.Reading, plainNumber))
	require.Equal(t, 15*time.Minute, r.Duration)
	require.Equal(t, noon.Add(10*time.Minute), r.Start)
	require.Equal(t, "bay weighing", r.Zone+" "+r.ID)
	r = a.Taken(TakePeak, time.Minute)
	require.Equal(t, "7", resultText(&r.Reading, plainNumber))
	require.Equal(t, time.Minute, r.Duration)
	require.Equal(t, noon.Add(20*time.Minute), r.Start)
}

func TestTakenOfWhatWasNotSeen(t *testing.T) {
	t.Parallel()
	over := usable(reading.Over(3))
	over.Over = 1
	r := over.Taken(TakePeak, time.Minute)
	require.Equal(t, ">7", resultText(&r.Reading, plainNumber))
	below := usable(reading.Under(0.5))
	r = below.Taken(TakePeak, time.Minute)
	require.Equal(t, "<0.5", resultText(&r.Reading, plainNumber), "no value reached the detection limit")

	short := usable(reading.At(3))
	short.Largest.Found = false
	require.False(t, short.Taken(TakeLargest, time.Minute).Known)
	none := usable(reading.At(3))
	none.Peak = math.NaN()
	require.False(t, none.Taken(TakePeak, time.Minute).Known)
	sparse := usable(reading.At(3))
	sparse.Usable = false
	for _, take := range []Take{TakeAverage, TakeLargest, TakePeak} {
		require.False(t, sparse.Taken(take, time.Minute).Known)
	}
}

// What determines no lognormal is a dash, and an uncertain time over the level a range.
func TestTraceTableWithinPeriods(t *testing.T) {
	t.Parallel()
	a := usable(reading.At(3))
	nan := math.NaN()
	a.Within = &WithinPeriod{GeometricMean: nan, GeometricStandardDeviation: nan, Percentile95: nan, AboveLower: 0.25, AboveUpper: 0.5}
	plainOne := usable(reading.At(3))
	plainOne.Within = &WithinPeriod{GeometricMean: 2, GeometricStandardDeviation: 2.5, Percentile95: 9, AboveLower: nan, AboveUpper: nan}
	var out strings.Builder
	require.NoError(t, TraceTable(&out, &Trace{Averages: []TraceAverage{a, plainOne}}, 0))
	require.Regexp(t, `weighing  dust +2026-03-09 12:00 .* 0 +– +– +– +mg/m3 +25.0 to 50.0 %`, strings.ReplaceAll(out.String(), "0001-01-01 00:00", "2026-03-09 12:00"), "the start of the average is not set")
	require.Regexp(t, `2.00  2.50 +9.00  mg/m3 +–`, out.String())
}
