package decision

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// mixed is a group of any readings against a limit of 1.
func mixed(t *testing.T, readings ...reading.Reading) *Evidence {
	t.Helper()
	f := fit.New(readings, fit.Options{})
	return &Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: 1, Unit: "ppm"}
}

// A result without a value passes the preliminary test only where its whole range does, and is above the limit only where
// its whole range is. Steps of EN 689:2018, 5.5.2, from memory; its annex on results below the limit of quantification was
// not at hand.
func TestEN689WithNonDetects(t *testing.T) {
	t.Parallel()
	at, under, over, within := reading.At, reading.Under, reading.Over, reading.Within
	cases := []struct {
		name     string
		readings []reading.Reading
		want     Outcome
		says     string
	}{
		{"three non-detects low enough", []reading.Reading{under(0.05), under(0.05), under(0.1)}, Compliant, "the largest is <0.1 ppm"},
		{"reporting limit above the fraction", []reading.Reading{under(0.05), under(0.05), under(0.11)}, Undecided, "reporting limit is too high"},
		{"reporting limit above the limit is no exceedance", []reading.Reading{under(2), under(2)}, Undecided, "take at least 1 more"},
		{"over range above the limit", []reading.Reading{at(0.1), over(1)}, NotCompliant, "The largest result, >1 ppm"},
		{"over range below the limit", []reading.Reading{at(0.1), over(0.5), at(0.1)}, Undecided, "the largest is >0.5 ppm"},
		{"band across the limit", []reading.Reading{at(0.1), within(0.8, 1.2), at(0.1)}, Undecided, "the largest is 0.8..1.2 ppm"},
		{"band above the limit", []reading.Reading{at(0.1), within(1.1, 1.2), at(0.1)}, NotCompliant, "1.1..1.2 ppm"},
		{"six non-detects low enough", []reading.Reading{under(.1), under(.1), under(.2), under(.1), under(.1), under(.1)}, Compliant, "stands in"},
		{"six non-detects, one too high", []reading.Reading{under(.1), under(.1), under(.3), under(.1), under(.1), under(.1)}, Undecided, "too high"},
		{
			"statistical test with non-detects",
			[]reading.Reading{at(.1), at(.07), at(.12), at(.09), under(.05), under(.05)},
			Compliant, "6 results (2 without a value)",
		},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, reason := en689(mixed(t, c.readings...))
			require.Equal(t, c.want, got, reason)
			require.Contains(t, reason, c.says)
		})
	}
}

func TestReasonsNameThePosterior(t *testing.T) {
	t.Parallel()
	e := mixed(t, reading.At(.1), reading.At(.07), reading.At(.12), reading.At(.09), reading.Under(.05), reading.Under(.05))
	_, reason := en689(e)
	require.Contains(t, reason, "from the posterior under the reference prior")
	got, reason := upperLimit95(e)
	require.Equal(t, Undecided, got, reason)
	require.Contains(t, reason, "from the posterior under the reference prior")
}
