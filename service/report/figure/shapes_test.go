package figure

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/numeric"
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
func assessed(t testing.TB, g reading.Group) *report.Assessment {
	t.Helper()
	a, err := new(assess.Assessor).Group(g, assess.Options{Curves: true})
	require.NoError(t, err, fmt.Sprint(g.Name))
	return a
}
