package trace_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

const references = "../../testdata/reference/autocorrelated_traces"

// local is how the traces of the reference are stamped; their clock has no zone and is read as UTC.
const local = "2006-01-02T15:04:05"

// instrument is an entry of the reference's meta.json.
type instrument struct {
	Resolution       float64 `json:"resolution"`
	FullScale        float64 `json:"full_scale"`
	WarmUpMinutes    int     `json:"warmup_minutes"`
	ClockJumpRow     *int64  `json:"clock_jump_row"`
	ClockJumpSeconds int     `json:"clock_jump_seconds"`
}

func (i *instrument) options() trace.Options {
	o := trace.Options{
		Channels: []trace.Channel{{DetectionLimit: i.Resolution, FullScale: i.FullScale}},
		WarmUp:   time.Duration(i.WarmUpMinutes) * time.Minute, Coverage: trace.DefaultCoverage,
	}
	if i.ClockJumpRow != nil {
		o.ClockJumps = []trace.ClockJump{{Row: *i.ClockJumpRow, Ahead: time.Duration(i.ClockJumpSeconds) * time.Second}}
	}
	return o
}

func instruments(t *testing.T) map[string]*instrument {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(references, "meta.json"))
	require.NoError(t, err)
	var all map[string]*instrument
	require.NoError(t, json.Unmarshal(text, &all))
	return all
}

func rows(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(references, file))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	return all
}

// reduce averages a trace of the reference.
func reduce(t *testing.T, name string, o trace.Options) *trace.Result {
	t.Helper()
	r, err := trace.NewReducer(o)
	require.NoError(t, err)
	for _, row := range rows(t, name+".csv")[1:] {
		at, err := time.Parse(local, row[0])
		require.NoError(t, err)
		v := math.NaN()
		if row[1] != "" {
			v, err = strconv.ParseFloat(row[1], 64)
			require.NoError(t, err)
		}
		require.NoError(t, r.Add(at, []float64{v}))
	}
	result, err := r.Finish()
	require.NoError(t, err)
	return result
}

// figures names what was found as expected.csv does.
func figures(t *testing.T, result *trace.Result) map[string]any {
	t.Helper()
	require.Len(t, result.Averages, 1)
	a := result.Averages[0]
	over := func(gaps trace.Assumption) float64 {
		b, err := a.OverBase(trace.Base{Length: 8 * time.Hour, Gaps: gaps, Outside: trace.Zero, Top: math.Inf(1)})
		require.NoError(t, err)
		if a.Over > 0 {
			return b.Lower // RULES.md 6: a saturated value is used as it stands.
		}
		return b.Middle()
	}
	low, middle, high := a.Lower, a.Middle(), a.Upper
	if a.Over > 0 {
		require.Equal(t, math.Inf(1), a.Upper)
		middle, high = low, low
	}
	return map[string]any{
		"file_rows": float64(result.Report.Rows), "blank_rows": float64(result.Report.Channels[0].Blank),
		"duplicate_rows": float64(result.Report.Channels[0].Duplicates), "window_minutes": a.Length.Minutes(),
		"observed_minutes": a.Observed.Minutes(), "coverage": a.Coverage, "below_resolution_minutes": float64(a.Below),
		"saturated_minutes": float64(a.Over), "mean_mid": middle, "mean_low": low, "mean_high": high,
		"twa8h_scaled_mid": over(trace.Same), "twa8h_observed_mid": over(trace.Zero),
		"max15": a.Largest.Lower, "max15_start": a.LargestStart.Format(local), "peak": a.Peak, "peak_time": a.PeakAt.Format(local),
		"longest_gap_minutes": a.LongestGap.Minutes(),
	}
}

// Every figure of expected.csv, which was computed in exact rational arithmetic and again in another language: see its header.
func TestReducerMeetsEveryExpectedFigure(t *testing.T) {
	t.Parallel()
	expected := rows(t, "expected.csv")
	of := instruments(t)
	require.Len(t, expected, 5)
	for _, row := range expected[1:] {
		t.Run(row[0], func(t *testing.T) {
			t.Parallel()
			got := figures(t, reduce(t, row[0], of[row[0]].options()))
			require.Len(t, got, len(row)-1)
			for i, name := range expected[0][1:] {
				if text, isText := got[name].(string); isText {
					require.Equal(t, row[i+1], text, name)
					continue
				}
				want, err := strconv.ParseFloat(row[i+1], 64)
				require.NoError(t, err)
				require.InDelta(t, want, got[name], 1e-9*max(1, want), name)
			}
		})
	}
}

// A window that holds no value under the detection limit has one mean, so that the reference's middle values are met.
func TestLargestMeanIsExactWhereAllWasSeen(t *testing.T) {
	t.Parallel()
	of := instruments(t)
	a := reduce(t, "foundry_co", of["foundry_co"].options()).Averages[0]
	require.True(t, a.Largest.Exact())
	saturated := reduce(t, "print_shop_ozone", of["print_shop_ozone"].options()).Averages[0]
	require.Equal(t, math.Inf(1), saturated.Largest.Upper, "the sensor was at its top for eight minutes")
}
