package figure

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// lognormal are n readings at the normal scores of an even sample, mixed in a fixed way, of zones in turn and days apart.
func lognormal(n int, gm, gsd float64, zones ...string) []reading.Reading {
	out := make([]reading.Reading, n)
	start := time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC)
	for i := range out {
		rank := (i*37+11)%n + 1
		z := numeric.NormalQuantile((float64(rank) - 0.375) / (float64(n) + 0.25))
		v := gm * math.Exp(z*math.Log(gsd))
		out[i] = reading.At(numeric3(v))
		if len(zones) > 0 {
			out[i].Zone = zones[i%len(zones)]
		}
		out[i].Start = start.Add(time.Duration(i) * 53 * time.Hour)
	}
	return out
}

// numeric3 rounds to three figures, as a laboratory does.
func numeric3(v float64) float64 {
	scale := math.Pow(10, 2-math.Floor(math.Log10(v)))
	return math.Round(v*scale) / scale
}

// below makes non-detects of the readings under a reporting limit.
func below(readings []reading.Reading, limit float64) []reading.Reading {
	for i := range readings {
		if readings[i].Kind == reading.Detected && readings[i].Lower < limit {
			readings[i].Kind, readings[i].Lower, readings[i].Upper = reading.Below, 0, limit
		}
	}
	return readings
}

// above makes the readings over a top known only to lie over it.
func above(readings []reading.Reading, top float64) []reading.Reading {
	for i := range readings {
		if readings[i].Kind == reading.Detected && readings[i].Lower > top {
			readings[i].Kind, readings[i].Lower, readings[i].Upper = reading.Above, top, math.Inf(1)
		}
	}
	return readings
}

// vague makes every step-th reading known only to a factor.
func vague(readings []reading.Reading, step int) []reading.Reading {
	for i := 0; i < len(readings); i += step {
		if r := &readings[i]; r.Kind == reading.Detected {
			r.Kind, r.Lower, r.Upper = reading.Between, r.Lower/1.6, r.Upper*1.6
		}
	}
	return readings
}

// shape is a group that a figure must cope with.
type shape struct {
	name  string
	group reading.Group
}

func limitOf(v float64, unit reading.Unit) *reading.Limit {
	return &reading.Limit{Value: v, Unit: unit}
}

// shapes are the groups by which the figures were judged by eye.
func shapes() []shape {
	const long = "Grinding and polishing hall of the northern works, third bay, line with the long conveyor and the two presses"
	mg := reading.Unit("mg/m3")
	group := func(name, agent string, unit reading.Unit, limit *reading.Limit, readings []reading.Reading) shape {
		return shape{name, reading.Group{Name: name, Agent: agent, Unit: unit, Limit: limit, Readings: readings}}
	}
	return []shape{
		group("three", "respirable quartz", mg, limitOf(0.05, mg), lognormal(3, 0.012, 2.1, "bay 1")),
		group("sixty", "respirable quartz", mg, limitOf(0.05, mg), lognormal(60, 0.012, 2.4, "bay 1", "bay 2", "press", "cabin")),
		group("mixed", "chlorine", "ppm", limitOf(0.5, "ppm"), vague(above(below(lognormal(24, 0.12, 3.2, "cell room", "filling", "store"), 0.05), 0.6), 5)),
		group("mostly below", "lead", mg, limitOf(0.05, mg), below(lognormal(40, 0.004, 2.6, "smelter", "yard"), 0.009)),
		group("two detected", "lead", mg, limitOf(0.05, mg), below(lognormal(16, 0.004, 2.6, "smelter", "yard"), 0.0125)),
		group("all but one below", "lead", mg, limitOf(0.05, mg), below(lognormal(12, 0.004, 2.2, "smelter"), 0.0125)),
		group("limit far above", "toluene", "ppm", limitOf(5000, "ppm"), lognormal(12, 0.4, 1.8, "paint shop")),
		group("limit far below", "toluene", "ppm", limitOf(0.0001, "ppm"), lognormal(12, 0.4, 1.8, "paint shop")),
		group("no limit", "toluene", "ppm", nil, lognormal(12, 0.4, 1.8, "paint shop")),
		group(long, "diisocyanates as total reactive isocyanate group, vapor and aerosol together", mg, limitOf(0.02, mg),
			lognormal(20, 0.004, 2.9, long+" A", long+" B", "C", "D", "E", "F", "G", "H", "I")),
		group("tiny", "beryllium", "kg/m3", limitOf(2e-10, "kg/m3"), lognormal(9, 1e-10, 1.5, "lab")),
		group("huge", "fibers", "1/m3", limitOf(2e6, "1/m3"), lognormal(9, 1e6, 1.5, "lab")),
		group("narrow", "oxygen", "%", limitOf(23.5, "%"), lognormal(15, 20.9, 1.004, "lab")),
		group("many", "noise dose", "%", limitOf(100, "%"), lognormal(1500, 22, 2.2, "a", "b", "c")),
	}
}

// assessed assesses a group with its curves.
func assessed(tb testing.TB, g reading.Group) *report.Assessment {
	tb.Helper()
	a, err := new(assess.Assessor).Group(g, assess.Options{Curves: true})
	require.NoError(tb, err, fmt.Sprint(g.Name))
	return a
}

// campaigns compares groups of one agent.
func campaigns(tb testing.TB, name string, limit *reading.Limit, groups ...reading.Group) *report.Comparison {
	tb.Helper()
	for i := range groups {
		groups[i].Agent, groups[i].Unit, groups[i].Limit = "welding fume", "mg/m3", limit
	}
	c, err := new(assess.Assessor).Compare(name, groups, 0.5, assess.Options{})
	require.NoError(tb, err)
	return c
}

func threeCampaigns(tb testing.TB) *report.Comparison {
	tb.Helper()
	named := func(name string, r []reading.Reading) reading.Group { return reading.Group{Name: name, Readings: r} }
	return campaigns(tb, "welding bay", limitOf(1, "mg/m3"),
		named("spring 2024, before the new extraction and the new wire", below(lognormal(18, 0.5, 2.6), 0.15)),
		named("autumn 2024", lognormal(6, 0.3, 2.2)), named("2026", lognormal(400, 0.12, 2.1)))
}

func plan(tb testing.TB, q assess.Question) *report.Plan {
	tb.Helper()
	p, err := new(assess.Assessor).Plan(q)
	require.NoError(tb, err)
	return p
}

// plans are a plan for an assumed exposure, one after readings so far, and one for a grid.
func plans(tb testing.TB) map[string]*report.Plan {
	tb.Helper()
	sofar := reading.Group{Limit: limitOf(1, "mg/m3"), Unit: "mg/m3"}
	further := sofar
	further.Readings = lognormal(6, 0.2, 2.2)
	return map[string]*report.Plan{
		"assumed": plan(tb, assess.Question{
			Rule: decision.EN689, Assumed: &assess.Exposure{GeometricMean: 0.1, GeometricStandardDeviation: 2.5}, SoFar: sofar,
			Samples: planning.Range{Lower: 3, Upper: 30}, Want: planning.Want{Chance: 0.8, Aim: planning.Comply},
		}),
		"further": plan(tb, assess.Question{
			Rule: decision.UpperLimit95, SoFar: further, Samples: planning.Range{Lower: 1, Upper: 20}, Want: planning.Want{Chance: 0.5},
		}),
		"grid": plan(tb, assess.Question{
			Rule:    decision.UpperLimit95,
			Grid:    &planning.Grid{PercentileToLimit: []float64{0.1, 0.25, 0.5}, GeometricStandardDeviation: []float64{1.5, 2.5, 4}},
			Samples: planning.Range{Lower: 3, Upper: 20}, Want: planning.Want{Chance: 0.8},
		}),
	}
}

// shift is a trace of a shift with a gap, a rise and averages of two hours.
func shift() *TraceFigure {
	from := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	f := &TraceFigure{
		Agent: "carbon monoxide", Zone: "furnace hall", Unit: "ppm", DetectionLimit: 2, FullScale: 80, From: from, To: from.Add(8 * time.Hour),
	}
	for i := range 480 {
		x := float64(i)
		v := 12 + 6*math.Sin(x/40) + 25*math.Exp(-(x-300)*(x-300)/1500)
		c := TraceColumn{Minimum: v * 0.7, Mean: v, Maximum: v * (1.3 + 0.4*math.Abs(math.Sin(x*1.7))), Rolling: v * 0.98}
		if i < 14 {
			c.Rolling = math.NaN()
		}
		if i >= 180 && i < 225 {
			c = TraceColumn{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
		}
		f.Columns = append(f.Columns, c)
	}
	f.Gaps = []TraceSpan{{From: from.Add(180 * time.Minute), To: from.Add(225 * time.Minute)}}
	for i := range 4 {
		average := 12 + 4*float64(i)
		f.Averages = append(f.Averages, TraceSpan{
			From: from.Add(time.Duration(i) * 2 * time.Hour), To: from.Add(time.Duration(i+1) * 2 * time.Hour),
			Average: average, Lower: average, Upper: average, Usable: i != 1,
		})
	}
	f.Averages[3].Upper = 31
	f.Largest = TraceSpan{From: from.Add(292 * time.Minute), To: from.Add(307 * time.Minute), Average: 41.2}
	return f
}
