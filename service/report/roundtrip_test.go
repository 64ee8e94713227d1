package report

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

// names are what people call a zone, an agent or a task, and what a table may trip over.
func names() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "bay", "#1 press", "=1+1", "3,14", "1.5", "1.234", "1,234", "a;b;c", "a\tb", `say "hm"`, "two\nlines", "zone", "result", "agent", "–", "-", "'", "<0.5", "2026-03-09"}),
		rapid.StringOfN(rapid.RuneFrom([]rune("ab#=\"',;|\t\n .<>09é")), 0, 12, -1),
	).Filter(legible)
}

// legible names are those that a table keeps to the letter: without spaces around them or at the end of a line.
func legible(name string) bool {
	for line := range strings.SplitSeq(name, "\n") {
		if strings.TrimRight(line, " \t") != line {
			return false
		}
	}
	return strings.TrimSpace(name) == name
}

// results are readings of every kind.
func results() *rapid.Generator[reading.Reading] {
	return rapid.Custom(func(t *rapid.T) reading.Reading {
		number := rapid.OneOf(rapid.Float64Range(1e-6, 1e6), rapid.Float64Range(1e-300, 1e300), rapid.Map(rapid.IntRange(1, 2000), func(n int) float64 { return float64(n) }))
		v := number.Draw(t, "value")
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			return reading.Under(v)
		case 1:
			return reading.Over(v)
		case 2:
			return reading.Within(v, v*rapid.Float64Range(1.001, 100).Draw(t, "factor"))
		default:
			return reading.At(v)
		}
	})
}

// traces are answers of a reduction whose averages may be anything.
func traces() *rapid.Generator[*Trace] {
	return rapid.Custom(func(t *rapid.T) *Trace {
		a := &Trace{Report: trace.Report{Interval: time.Duration(rapid.IntRange(1, 3600).Draw(t, "interval")) * time.Second}}
		zone, subject, campaign := names().Draw(t, "zone"), names().Draw(t, "subject"), names().Draw(t, "campaign")
		agents := rapid.SliceOfN(names().Filter(func(s string) bool { return s != "" }), 1, 3).Draw(t, "agents")
		tasks := rapid.Bool().Draw(t, "tasks")
		for range rapid.IntRange(1, 12).Draw(t, "averages") {
			v := usable(results().Draw(t, "reading"))
			v.Agent, v.Unit = rapid.SampledFrom(agents).Draw(t, "agent"), "ppm"
			v.Reading.Zone, v.Reading.Subject, v.Reading.Campaign, v.Reading.ID = zone, subject, campaign, ""
			if tasks {
				v.Reading.ID = names().Draw(t, "task")
			}
			v.Reading.Start = time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "start"), rapid.Int64Range(0, 999_999_999).Draw(t, "nanoseconds")).UTC()
			v.Reading.Duration = time.Duration(rapid.Int64Range(1, int64(1000*time.Hour)).Draw(t, "length"))
			v.Peak = rapid.Float64Range(0, 1e6).Draw(t, "peak")
			v.Usable = rapid.IntRange(0, 4).Draw(t, "usable") > 0
			a.Averages = append(a.Averages, v)
		}
		return a
	})
}

// What reduce writes is what assess reads, to the last bit and letter, whichever number is taken and whatever things are called.
func TestResultsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := traces().Draw(t, "trace")
		take := rapid.SampledFrom([]Take{TakeAverage, TakeLargest, TakePeak}).Draw(t, "take")
		var text bytes.Buffer
		require.NoError(t, ResultsCSV(&text, a, take))
		want := map[string][]reading.Reading{}
		for i := range a.Averages {
			if r := a.Averages[i].Taken(take, a.Report.Interval); r.Known {
				want[a.Averages[i].Agent] = append(want[a.Averages[i].Agent], r.Reading)
			}
		}
		keys := reading.DefaultKeys
		if a.Averages[0].Reading.Zone == "" {
			keys = reading.ByAgent // Nothing is grouped by what is not stated.
		}
		g := reading.NewGrouping(keys)
		g.Source.Strict = true
		require.NoError(t, g.ReadCSV("results.csv", &text))
		if len(want) == 0 {
			return
		}
		groups, err := g.Groups()
		require.NoError(t, err)
		require.Len(t, groups, len(want))
		for _, group := range groups {
			require.Equal(t, reading.Unit("ppm"), group.Unit)
			require.Len(t, group.Readings, len(want[group.Agent]))
			for i, r := range group.Readings {
				same(t, want[group.Agent][i], r)
			}
		}
	})
}

// same: a length of time goes through minutes, which have as many digits as a number has.
func same(t require.TestingT, want, got reading.Reading) {
	require.InDelta(t, float64(want.Duration), float64(got.Duration), math.Max(1, 1e-15*float64(want.Duration)))
	require.True(t, want.Start.Equal(got.Start))
	got.Duration, got.Start = want.Duration, want.Start
	require.Equal(t, want, got)
}
