package decision

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// subjects is a group of three subjects with n results each, spread alike about means that lie apart by the factor.
func subjects(t *testing.T, limit, factor float64, n int) *Evidence {
	t.Helper()
	var readings []reading.Reading
	for i := range n {
		for j, name := range []string{"P1", "P2", "P3"} {
			r := reading.At(math.Exp(0.5*numeric.NormalQuantile((float64(i)+0.5)/float64(n))) * math.Pow(factor, float64(j-1)))
			r.Subject = name
			readings = append(readings, r)
		}
	}
	f := fit.New(readings, fit.Options{})
	return &Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: limit, Unit: "ppm"}
}

// own is the log of the limit at which the chance of a subject is 20 %, by the analysis of variance of a balanced group: the 80th
// percentile of a normal law lies 0.841621 standard deviations up, the 95th 1.644854 (published tables).
func own(e *Evidence) float64 {
	n := float64(len(e.Readings))
	means, total := map[string]float64{}, 0.0
	for _, r := range e.Readings {
		means[r.Subject] += math.Log(r.Lower) / (n / 3)
		total += math.Log(r.Lower) / n
	}
	var between, within float64
	for _, r := range e.Readings {
		within += math.Pow(math.Log(r.Lower)-means[r.Subject], 2) / (n - 3)
	}
	for _, m := range means {
		between += n / 3 * (m - total) * (m - total) / 2
	}
	return total + 1.644854*math.Sqrt(within) + 0.841621*math.Sqrt((between-within)/(n/3))
}

// Numbers of the guidance from memory: the group test at 70 % confidence, then a chance below 20 %. With few results the group
// test is the harder one, with many from subjects that differ somewhat that of the subjects.
func TestGroupAndSubjectOnBothSidesOfBothTests(t *testing.T) {
	t.Parallel()
	few := subjects(t, 1, 1.5, 3)
	group, err := few.percentileLimit(0.95, 0.70)
	require.NoError(t, err)
	require.Less(t, own(few), group)
	many := subjects(t, 1, 1.4, 30)
	upper, err := many.percentileLimit(0.95, 0.70)
	require.NoError(t, err)
	require.Greater(t, own(many), upper)
	cases := []struct {
		e    *Evidence
		log  float64
		want Outcome
		says string
	}{
		{few, group - 1e-9, NotCompliant, "is not below the limit"},
		{few, group + 1e-9, Compliant, "is below 0.2."},
		{many, own(many) - 1e-5, NotCompliant, "= 0.2000, is not below 0.2."},
		{many, own(many) + 1e-5, Compliant, "= 0.2000, is below 0.2."},
		{many, upper - 1e-9, NotCompliant, "is not below the limit"},
	}
	for _, c := range cases {
		c.e.Limit = math.Exp(c.log)
		got, reason := groupAndSubject(c.e)
		require.Equal(t, c.want, got, reason)
		require.Contains(t, reason, c.says)
	}
}

// With subjects that do not differ the chance is 0 or 1.
func TestGroupAndSubjectWithoutSpreadBetween(t *testing.T) {
	t.Parallel()
	got, reason := groupAndSubject(subjects(t, 3, 1, 3))
	require.Equal(t, Compliant, got, reason)
	require.Contains(t, reason, "with no spread between them, 0.000, is below 0.2.")
}

func TestGroupAndSubjectSaysWhatItNeeds(t *testing.T) {
	t.Parallel()
	change := func(f func(*Evidence)) *Evidence {
		e := subjects(t, 3, 1.5, 3)
		f(e)
		refitted := fit.New(e.Readings, fit.Options{})
		e.Fit, e.Counts = &refitted, reading.Count(e.Readings)
		return e
	}
	cases := []struct {
		name string
		e    *Evidence
		want Outcome
		says string
	}{
		{"a reading without", change(func(e *Evidence) { e.Readings[3].Subject = "" }), NoOutcome, "subject of every reading"},
		{"one subject", change(func(e *Evidence) {
			for i := range e.Readings {
				e.Readings[i].Subject = "P1"
			}
		}), NoOutcome, "at least 2 subjects"},
		{"no repeats", change(func(e *Evidence) { e.Readings = e.Readings[:3] }), NoOutcome, "repeated results"},
		{"eight results", change(func(e *Evidence) { e.Readings = e.Readings[:8] }), Undecided, "take at least 1 more"},
		{"nothing detected", change(func(e *Evidence) {
			for i := range e.Readings {
				e.Readings[i].Kind, e.Readings[i].Lower, e.Readings[i].Upper = reading.Below, 0, 0.1
			}
		}), Undecided, "No lognormal can be fitted"},
		{"each subject of one value", change(func(e *Evidence) {
			for i := range e.Readings {
				v := float64(1 + i%3)
				e.Readings[i].Lower, e.Readings[i].Upper = v, v
			}
			e.Limit = 100
		}), NoOutcome, "in every subject one single value would explain all readings"},
		{"non-detects", change(func(e *Evidence) {
			e.Readings[0].Kind, e.Readings[0].Lower = reading.Below, 0
			e.Limit = 30
		}), Compliant, "9 results (1 without a value)"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, reason := groupAndSubject(c.e)
			require.Equal(t, c.want, got, reason)
			require.Contains(t, reason, c.says)
		})
	}
}
