package trace_test

import (
	"math"
	"testing"
	"time"

	"example.com/tailbound/service/trace"
)

// BenchmarkReducer takes five channels logged every ten seconds; the target is 2 million readings a second on one core.
func BenchmarkReducer(b *testing.B) {
	long := 100_000 * time.Hour
	for _, c := range []struct {
		name    string
		options trace.Options
	}{
		{"averages", trace.Options{Period: 8 * time.Hour}},
		{"clock", trace.Options{Period: 8 * time.Hour, PeriodOrigin: morning}},
		{"within", trace.Options{Period: 8 * time.Hour, WithinPeriod: true}},
		{"two tasks at once", trace.Options{Tasks: []trace.Task{{Name: "a", Start: morning, Length: long}, {Name: "b", Start: morning, Length: long}}}},
	} {
		b.Run(c.name, func(b *testing.B) { reducing(b, c.options) })
	}
}

func reducing(b *testing.B, o trace.Options) {
	b.Helper()
	const channels = 5
	o.Coverage = trace.DefaultCoverage
	values := make([]float64, channels)
	for i := range channels {
		o.Channels = append(o.Channels, trace.Channel{DetectionLimit: 1, FullScale: 500})
		if o.WithinPeriod {
			o.Channels[i].Level = 40
		}
		values[i] = float64(i)
	}
	r, err := trace.NewReducer(o)
	if err != nil {
		b.Fatal(err)
	}
	at, n := morning, 0
	b.ReportAllocs()
	for b.Loop() {
		values[n%channels] = 50 + 49*math.Sin(float64(n))
		if err := r.Add(at, values); err != nil {
			b.Fatal(err)
		}
		at = at.Add(10 * time.Second)
		n++
	}
	b.ReportMetric(float64(n*channels)/b.Elapsed().Seconds(), "readings/s")
}
