package assess_test

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

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

const references = "../../testdata/reference"

func referenceRows(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(references, file))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	return all[1:]
}

func parsed(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// oneChannel is a trace of one channel whose distribution is asked for.
func oneChannel(sensor trace.Channel, measured assess.TraceChannel) assess.TraceOptions {
	return assess.TraceOptions{
		Options:  trace.Options{Channels: []trace.Channel{sensor}, Coverage: trace.DefaultCoverage, WithinPeriod: true},
		Measured: []assess.TraceChannel{measured},
	}
}

var air = reading.Vapor{Temperature: reading.RoomTemperature, Pressure: reading.RoomPressure}

// sixAM is when the made-up traces begin.
var sixAM = time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)

func reduced(t *testing.T, o assess.TraceOptions, values ...float64) *report.Trace {
	t.Helper()
	r, err := assess.NewReduction(o)
	require.NoError(t, err)
	for i, v := range values {
		require.NoError(t, r.Add(sixAM.Add(time.Duration(i)*time.Minute), []float64{v}))
	}
	a, err := r.Finish()
	require.NoError(t, err)
	return a
}

// Every figure of trace_within.csv, by SciPy: see its header.
func TestWithinPeriodMeetsSciPy(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(references, "autocorrelated_traces", "meta.json"))
	require.NoError(t, err)
	var instruments map[string]struct {
		Unit       reading.Unit
		Resolution float64
		FullScale  float64 `json:"full_scale"`
		WarmUp     int     `json:"warmup_minutes"`
		JumpRow    *int64  `json:"clock_jump_row"`
		Jump       int     `json:"clock_jump_seconds"`
	}
	require.NoError(t, json.Unmarshal(text, &instruments))
	for _, row := range referenceRows(t, "trace_within.csv") {
		of := instruments[row[0]]
		o := oneChannel(trace.Channel{DetectionLimit: of.Resolution, FullScale: of.FullScale}, assess.TraceChannel{Unit: of.Unit, Vapor: air})
		o.WarmUp = time.Duration(of.WarmUp) * time.Minute
		if of.JumpRow != nil {
			o.ClockJumps = []trace.ClockJump{{Row: *of.JumpRow, Ahead: time.Duration(of.Jump) * time.Second}}
		}
		r, err := assess.NewReduction(o)
		require.NoError(t, err)
		for _, logged := range referenceRows(t, filepath.Join("autocorrelated_traces", row[0]+".csv")) {
			at, err := time.Parse("2006-01-02T15:04:05", logged[0])
			require.NoError(t, err)
			v := math.NaN()
			if logged[1] != "" {
				v = parsed(t, logged[1])
			}
			require.NoError(t, r.Add(at, []float64{v}))
		}
		a, err := r.Finish()
		require.NoError(t, err)
		w := a.Averages[0].Within
		require.InEpsilon(t, parsed(t, row[4]), w.GeometricMean, 1e-7, row[0])
		require.InEpsilon(t, parsed(t, row[5]), w.GeometricStandardDeviation, 1e-7, row[0])
		require.InEpsilon(t, parsed(t, row[6]), w.Percentile95, 1e-7, row[0])
		require.Contains(t, w.Text, "nothing of other shifts")
	}
}

// In another unit the geometric mean and the percentile are converted, the deviation and the time over the level are the same.
func TestWithinPeriodInAnotherUnit(t *testing.T) {
	t.Parallel()
	values := []float64{1, 4, 0.2, 8, 30, 12, 99, 5}
	sensor := trace.Channel{DetectionLimit: 0.5, FullScale: 50}
	level := 10.0
	carbon := air
	carbon.MolarMass = 28.01
	plain := reduced(t, oneChannel(sensor, assess.TraceChannel{Unit: "ppm", Vapor: carbon, Level: &level}), values...).Averages[0].Within
	factor := 28.01 / carbon.MolarVolume()
	level *= factor
	mass := reduced(t, oneChannel(sensor, assess.TraceChannel{Unit: "ppm", Result: "mg/m3", Vapor: carbon, Level: &level}), values...).Averages[0].Within
	require.InEpsilon(t, plain.GeometricMean*factor, mass.GeometricMean, 1e-12)
	require.InEpsilon(t, plain.Percentile95*factor, mass.Percentile95, 1e-12)
	require.InEpsilon(t, plain.GeometricStandardDeviation, mass.GeometricStandardDeviation, 1e-12)
	require.InDelta(t, 3.0/8, plain.AboveLower, 1e-12)
	require.InDelta(t, plain.AboveLower, mass.AboveLower, 0)
	require.InDelta(t, 3.0/8, mass.AboveUpper, 1e-12)
}

// What determines no lognormal says why, and the time over the level is counted all the same.
func TestWithinPeriodWithoutALognormal(t *testing.T) {
	t.Parallel()
	level := 3.0
	for want, c := range map[string]struct {
		limit  float64
		values []float64
	}{
		"the values do not vary":                              {0, []float64{5, 5, 5, 5}},
		"every value is under the detection limit":            {9, []float64{5, 5, 4, 5}},
		"every value is over the full scale":                  {0, []float64{50, 60, 50, 50}},
		"some values are 0 or less and have no logarithm, as": {0, []float64{50, 0, 3, 5}},
		"the values do not determine one":                     {5, []float64{5, 1, 5, 5}},
	} {
		o := oneChannel(trace.Channel{DetectionLimit: c.limit, FullScale: 50}, assess.TraceChannel{Unit: "ppm", Vapor: air, Level: &level})
		w := reduced(t, o, c.values...).Averages[0].Within
		require.True(t, math.IsNaN(w.GeometricMean) && math.IsNaN(w.Percentile95) && math.IsNaN(w.GeometricStandardDeviation), want)
		require.Contains(t, w.Text, "No lognormal: "+want)
		require.False(t, math.IsNaN(w.AboveLower) || math.IsNaN(w.AboveUpper))
	}
}

func TestLevelsAndSizesAreChecked(t *testing.T) {
	t.Parallel()
	zero := 0.0
	for want, c := range map[string]assess.TraceChannel{
		"channels[0].level: is 0; accepted is a finite number greater": {Level: &zero},
		"channels[0].particleSizes.lower: is -1":                       {Sizes: &assess.ParticleSizes{Lower: -1, Upper: 1}},
		"channels[0].particleSizes.upper: is 1; accepted is a finite":  {Sizes: &assess.ParticleSizes{Lower: 1, Upper: 1}},
	} {
		c.Unit, c.Vapor = "mg/m3", air
		_, err := assess.NewReduction(oneChannel(trace.Channel{FullScale: 1}, c))
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
}

// By the definition of the fractions half of the particles of 100 µm are inhalable, of 10 µm thoracic, of 4 µm respirable (common
// practice). The other figures are of the table of the conventions that hygienists use, in percent (from memory).
func TestConventions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		fraction assess.Fraction
		d, share float64
		within   float64
	}{
		{assess.Inhalable, 0, 1, 0},
		{assess.Inhalable, 100, 0.50, 0.002},
		{assess.Inhalable, 10, 0.77, 0.005},
		{assess.Inhalable, 101, 0, 0},
		{assess.Thoracic, 10, 0.50, 0.002},
		{assess.Thoracic, 25, 0.02, 0.005},
		{assess.Thoracic, 0, 1, 0},
		{assess.Respirable, 4, 0.50, 0.002},
		{assess.Respirable, 1, 0.97, 0.005},
		{assess.Respirable, 10, 0.01, 0.005},
		{assess.AnyFraction, 500, 1, 0},
	} {
		require.InDelta(t, c.share, c.fraction.Convention(c.d), c.within, "%v %v", c.fraction, c.d)
	}
}

// A photometer from 0.1 to 10 µm fits the respirable fraction; a counter up to 2.5 µm misses most of it, one up to 40 µm sees more.
func TestSizesThatDoNotFit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		sizes    assess.ParticleSizes
		fraction assess.Fraction
		want     string
	}{
		{assess.ParticleSizes{Lower: 0.1, Upper: 10}, assess.Respirable, ""},
		{assess.ParticleSizes{Lower: 0.1, Upper: 2.5}, assess.AnyFraction, ""},
		{assess.ParticleSizes{Lower: 0.3, Upper: 2.5}, assess.Respirable, "up to 2.5 µm, of which 84 % still belong to the respirable fraction"},
		{assess.ParticleSizes{Lower: 0.3, Upper: 40}, assess.Respirable, "up to 40 µm, of which less than 0.1 % belong"},
		{assess.ParticleSizes{Lower: 1, Upper: 10}, assess.Respirable, "no particles under 1.0 µm, of which 97 % belong"},
		{assess.ParticleSizes{Lower: 0.5, Upper: 10}, assess.Thoracic, "up to 10 µm, of which 50 % still belong to the thoracic"},
		{assess.ParticleSizes{Lower: 0.5, Upper: 50}, assess.Inhalable, "up to 50 µm, of which 52 % still belong to the inhalable"},
		{assess.ParticleSizes{Lower: 0.5, Upper: 100}, assess.Inhalable, ""},
	} {
		o := oneChannel(trace.Channel{FullScale: math.Inf(1)}, assess.TraceChannel{Agent: "dust", Unit: "mg/m3", Vapor: air, Sizes: &c.sizes, Fraction: c.fraction})
		told := ""
		for _, n := range reduced(t, o, 1, 2, 3).Notes {
			if len(n.Code) > 9 && n.Code[:9] == "particles" {
				told += n.Text
			}
		}
		if c.want == "" {
			require.Empty(t, told, "%v %v", c.sizes, c.fraction)
			continue
		}
		require.Contains(t, told, c.want)
	}
}

func TestTasksBecomeReadings(t *testing.T) {
	t.Parallel()
	o := oneChannel(trace.Channel{FullScale: math.Inf(1)}, assess.TraceChannel{Agent: "dust", Unit: "mg/m3", Vapor: air})
	o.Tasks = []trace.Task{
		{Name: "weighing", Start: sixAM, Length: 2 * time.Minute}, {Name: "late", Start: sixAM.Add(time.Hour), Length: time.Hour},
	}
	a := reduced(t, o, 1, 2, 3)
	require.Len(t, a.Averages, 1)
	require.Equal(t, "weighing", a.Averages[0].Reading.ID)
	require.InDelta(t, 1.5, a.Averages[0].Reading.Lower, 1e-12)
	require.Contains(t, a.Notes, report.Note{
		Code: "tasks-not-met", Severity: report.Careful, Text: `Nothing was logged during the task "late": no readings.`,
	})
}

// ln(1080 / 280) = 1.34993 air changes in an hour, from 1500 to 700 ppm over 420: see the test of the stage.
func TestAirChange(t *testing.T) {
	t.Parallel()
	o := &assess.AirChangeOptions{Background: 420, Unit: "ppm", Zone: "room 12", Confidence: 0.95}
	for i := range 13 {
		o.Times = append(o.Times, sixAM.Add(time.Duration(i)*5*time.Minute))
		o.Values = append(o.Values, 420+1080*math.Pow(280.0/1080, float64(i)/12))
	}
	a, err := assess.AirChange(o)
	require.NoError(t, err)
	require.InDelta(t, 1.34993, a.Rate.Estimate, 5e-6)
	require.Equal(t, time.Hour, a.Duration)
	require.Len(t, a.Notes, 1)
	require.Contains(t, a.Notes[0].Text, "one zone of well-mixed air")
	require.Contains(t, a.Notes[0].Text, "420 ppm")

	// The first quarter of an hour tells less, and says so; a bent decay, a rising one and scatter too.
	short := *o
	short.Times, short.Values = o.Times[:4], o.Values[:4]
	require.Contains(t, airChangeCodes(t, &short), "short-decay")
	bent := *o
	bent.Background = 0
	require.Contains(t, airChangeCodes(t, &bent), "bent-decay")
	low := *o
	low.Background = 690
	require.Contains(t, airChangeCodes(t, &low), "near-background")
	wild := *o
	wild.Times, wild.Values = o.Times[:4], []float64{900, 1500, 600, 880}
	require.Contains(t, airChangeCodes(t, &wild), "no-lower-limit")
	rising := *o
	rising.Times, rising.Values = o.Times[:3], []float64{500, 600, 700}
	_, err = assess.AirChange(&rising)
	require.ErrorContains(t, err, "does not fall from 2026-03-09T06:00:00Z to 2026-03-09T06:10:00Z")
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
}

func airChangeCodes(t *testing.T, o *assess.AirChangeOptions) []string {
	t.Helper()
	a, err := assess.AirChange(o)
	require.NoError(t, err)
	var codes []string
	for _, n := range a.Notes {
		codes = append(codes, n.Code)
	}
	return codes
}
