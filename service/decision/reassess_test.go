package decision

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// centered is a group with the geometric mean given, against a limit of 1.
func centered(mean float64) *Evidence {
	return evidence(1, mean/1.01, mean, mean*1.01)
}

// The intervals of EN 689:2018, Annex I, from memory. At a fraction itself the shorter one holds.
func TestReassessmentByTheGeometricMean(t *testing.T) {
	t.Parallel()
	cases := []struct {
		mean   float64
		months int
		says   string
	}{
		{0.0999, 36, "is below 0.1 of the limit"},
		{0.1, 24, "is between 0.1 and 0.25 of the limit"},
		{0.2499, 24, "is between 0.1 and 0.25 of the limit"},
		{0.25, 18, "is between 0.25 and 0.5 of the limit"},
		{0.4999, 18, "is between 0.25 and 0.5 of the limit"},
		{0.5, 12, "is at or above 0.5 of the limit, 1 mg/m3: 12 months"},
		{0.8, 12, "is at or above 0.5 of the limit"},
	}
	for _, c := range cases {
		got := Reassess(centered(c.mean), &Decision{Rule: EN689, Outcome: Compliant}, 0)
		require.Equal(t, c.months, got.Months, got.Reason)
		require.Contains(t, got.Reason, c.says)
		require.NotEmpty(t, got.Source)
	}
}

func TestReassessmentIsForCompliantGroups(t *testing.T) {
	t.Parallel()
	for _, d := range []Decision{{EN689, NotCompliant, "", ""}, {EN689, Undecided, "", ""}, {EN689, NoOutcome, "", ""}, {SingleShift, Compliant, "", ""}} {
		require.Nil(t, Reassess(centered(0.1), &d, 12))
	}
}

func TestReassessmentWithinTheTimeAllowed(t *testing.T) {
	t.Parallel()
	compliant := &Decision{Rule: EN689, Outcome: Compliant}
	got := Reassess(centered(0.05), compliant, 6)
	require.Equal(t, 6, got.Months)
	require.Contains(t, got.Reason, "36 months. The caller allows 6 months.")
	got = Reassess(centered(0.05), compliant, 60)
	require.Equal(t, 36, got.Months)
	require.NotContains(t, got.Reason, "caller")
}

// Counted in calendar months from the end of the latest reading.
func TestReassessmentIsDue(t *testing.T) {
	t.Parallel()
	e := centered(0.3)
	e.Readings[1].Start, e.Readings[1].Duration = time.Date(2026, 8, 30, 22, 0, 0, 0, time.UTC), 8*time.Hour
	e.Readings[2].Start = time.Date(2026, 8, 30, 23, 0, 0, 0, time.UTC)
	got := Reassess(e, &Decision{Rule: EN689, Outcome: Compliant}, 0)
	require.Contains(t, got.Reason, "The latest reading is of 2026-08-31, so it is due in 2028-02.")
}

// Without a lognormal the largest result stands in for the geometric mean, which is not above it.
func TestReassessmentWithoutAFit(t *testing.T) {
	t.Parallel()
	compliant := &Decision{Rule: EN689, Outcome: Compliant}
	got := Reassess(mixed(t, reading.Under(0.05), reading.Under(0.05), reading.Under(0.11)), compliant, 0)
	require.Equal(t, 24, got.Months, got.Reason)
	require.Contains(t, got.Reason, "at most the largest result, <0.11 ppm, which is between 0.1 and 0.25 of the limit, 1 ppm")
	equal := evidence(1, 0.05, 0.05, 0.05)
	require.Equal(t, fit.NoSpread, equal.Fit.Status)
	require.Equal(t, 36, Reassess(equal, compliant, 0).Months)
	over := mixed(t, reading.Over(1), reading.Over(2))
	require.Equal(t, 12, Reassess(over, compliant, 0).Months)
}
