package decision

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/reading"
)

// shift is consecutive samples of one subject: pairs of minutes and a result.
func shift(limit, cv float64, pairs ...[2]float64) *Evidence {
	e := &Evidence{Limit: limit, Unit: "mg/m3", RelativeError: cv}
	start := time.Date(2026, 3, 4, 6, 0, 0, 0, time.UTC)
	for _, pair := range pairs {
		r := reading.At(pair[1])
		r.Subject, r.Start, r.Duration = "P1", start, time.Duration(pair[0])*time.Minute
		start = start.Add(r.Duration)
		e.Readings = append(e.Readings, r)
	}
	e.Counts = reading.Count(e.Readings)
	return e
}

// sampled is one full-period sample against a limit of 1.
func sampled(cv float64, r reading.Reading) *Evidence {
	return &Evidence{Readings: []reading.Reading{r}, Counts: reading.Count([]reading.Reading{r}), Limit: 1, Unit: "ppm", RelativeError: cv}
}

// The worked examples of the OSHA Technical Manual (reprinted by secondary sources): carbaryl against 5 mg/m3 with the sampling
// and analytical error 0.23, which is 1.645 coefficients of variation, by one sample of 6.07 mg/m3 (printed: Y 1.21, limits
// 0.98 and 1.44, undecided) and by samples of 6.26 mg/m3 over 240 and 5.85 mg/m3 over 210 minutes (printed lower limit 1.01
// from rounded steps; 1.0153 with all digits, so above the limit).
func TestSingleShiftReproducesTheExamplesOfTheTechnicalManual(t *testing.T) {
	t.Parallel()
	const cv = 0.23 / 1.645
	got, reason := singleShift(shift(5, cv, [2]float64{480, 6.07}))
	require.Equal(t, Undecided, got, reason)
	require.Contains(t, reason, "x = 6.07/5 = 1.214, so the 95 % limits x ± 1.645 × CV are 0.9840 and 1.444")

	got, reason = singleShift(shift(5, cv, [2]float64{240, 3.005 / 0.480}, [2]float64{210, 2.457 / 0.420}))
	require.Equal(t, NotCompliant, got, reason)
	require.Contains(t, reason, "time-weighted mean 6.069 mg/m3, x = mean/limit = 1.214")
	require.Contains(t, reason, "limits of x are 1.015 and 1.412")
}

// Examples of NIOSH 77-173, 4.2.1 and 4.2.2, from memory: x = 0.8 with CV 0.09 has the upper limit 0.95, and isoamyl alcohol
// against 100 ppm with CV 0.08, by 90 ppm over 150, 140 over 100 and 110 over 230 minutes, has the mean 110 ppm exactly and the
// lower limit 1.01 (1.01251 with all digits).
func TestSingleShiftReproducesTheExamplesOfTheManual(t *testing.T) {
	t.Parallel()
	got, reason := singleShift(sampled(0.09, reading.At(0.8)))
	require.Equal(t, Compliant, got, reason)
	require.Contains(t, reason, "and 0.9481: the upper one is below 1")

	got, reason = singleShift(shift(100, 0.08, [2]float64{150, 90}, [2]float64{100, 140}, [2]float64{230, 110}))
	require.Equal(t, NotCompliant, got, reason)
	require.Contains(t, reason, "time-weighted mean 110.0 mg/m3")
	require.Contains(t, reason, "limits of x are 1.013 and")
}

func TestSingleShiftOnBothSides(t *testing.T) {
	t.Parallel()
	// 1.645 × 0.1 = 0.1645.
	cases := []struct {
		name string
		r    reading.Reading
		want Outcome
		says string
	}{
		{"upper limit just below 1", reading.At(0.8354), Compliant, "below 1"},
		{"upper limit just above 1", reading.At(0.8356), Undecided, "they leave 1 possible"},
		{"lower limit just below 1", reading.At(1.1644), Undecided, "they leave 1 possible"},
		{"lower limit just above 1", reading.At(1.1646), NotCompliant, "above 1"},
		{"reporting limit low enough", reading.Under(0.8), Compliant, "<0.8 ppm"},
		{"reporting limit too high", reading.Under(0.9), Undecided, "less than 0.9000"},
		{"range ends high enough", reading.Over(1.2), NotCompliant, "at least 1.035"},
		{"range ends too low", reading.Over(1.1), Undecided, "more than 1.100"},
		{"band below", reading.Within(0.1, 0.8), Compliant, "0.1000 to 0.8000"},
		{"band across", reading.Within(0.8, 1.2), Undecided, "0.8000 to 1.200"},
		{"band above", reading.Within(1.2, 1.3), NotCompliant, "1.200 to 1.300"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, reason := singleShift(sampled(0.1, c.r))
			require.Equal(t, c.want, got, reason)
			require.Contains(t, reason, c.says)
			require.NotContains(t, reason, "Inf")
		})
	}
}

func TestSingleShiftSaysWhyItIsNotApplied(t *testing.T) {
	t.Parallel()
	two := func(change func(*reading.Reading)) *Evidence {
		e := shift(1, 0.1, [2]float64{240, 0.1}, [2]float64{240, 0.2})
		change(&e.Readings[1])
		return e
	}
	cases := map[string]*Evidence{
		"none is stated":             sampled(0, reading.At(1)),
		"There is no reading":        {Limit: 1, RelativeError: 0.1},
		"starts and durations":       two(func(r *reading.Reading) { r.Subject = "P2" }),
		"with their starts":          two(func(r *reading.Reading) { r.Start = time.Time{} }),
		"consecutive samples of one": two(func(r *reading.Reading) { r.Duration = 0 }),
		"must have a value":          two(func(r *reading.Reading) { r.Kind, r.Lower = reading.Below, 0 }),
		"overlap":                    two(func(r *reading.Reading) { r.Start = r.Start.Add(-time.Minute) }),
		"24 hours":                   two(func(r *reading.Reading) { r.Start = r.Start.Add(20 * time.Hour) }),
	}
	for says, e := range cases {
		got, reason := singleShift(e)
		require.Equal(t, NoOutcome, got, reason)
		require.Contains(t, reason, says)
	}
}

func TestSingleShiftHeedsNoOrder(t *testing.T) {
	t.Parallel()
	e := shift(100, 0.08, [2]float64{150, 90}, [2]float64{100, 140}, [2]float64{230, 110})
	_, want := singleShift(e)
	slices.Reverse(e.Readings)
	_, got := singleShift(e)
	require.Equal(t, want, got)
}
