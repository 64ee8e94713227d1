package variance

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// in puts readings into a zone.
func in(zone string, readings ...reading.Reading) []reading.Reading {
	for i := range readings {
		readings[i].Zone = zone
	}
	return readings
}

func join(parts ...[]reading.Reading) []reading.Reading {
	var out []reading.Reading
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func TestUndetermined(t *testing.T) {
	t.Parallel()
	at, under, over := reading.At, reading.Under, reading.Over
	cases := []struct {
		name, want string
		readings   []reading.Reading
	}{
		{"no readings", "all readings are of one zone", nil},
		{"one zone", "the variance between zones needs at least two", in("a", at(1), at(2), at(3))},
		{"single readings", "every zone has one reading", join(in("a", at(1)), in("b", at(2)), in("c", at(3)))},
		{"no variation within", "in every zone one single value would explain all readings", join(in("a", at(1), at(1)), in("b", at(2), at(2)), in("c", at(3)))},
		{"all equal", "in every zone one single value", join(in("a", at(1), at(1)), in("b", at(1)))},
		{"none apart within", "in every zone one single value", join(in("a", at(1), under(2)), in("b", at(2), over(2)), in("c", at(3)))},
		{"nothing with a value", "no reading has a value", join(in("a", under(1), over(2)), in("b", under(1)))},
	}
	for _, c := range cases {
		_, err := Partition(c.readings, zoneOf, Options{})
		require.ErrorContains(t, err, c.want, c.name)
		require.Equal(t, fault.Undetermined, fault.CodeOf(err), c.name)
	}
	_, err := Partition(in("a", at(1), at(2)), zoneOf, Options{What: "subject"})
	require.ErrorContains(t, err, "all readings are of one subject: the variance between subjects needs")
}

func TestInvalid(t *testing.T) {
	t.Parallel()
	good := iron()
	infinite := math.Inf(1)
	cases := []struct {
		name, want string
		readings   []reading.Reading
		o          Options
	}{
		{"confidence", "confidence: is 0.4; accepted is 0.5 to 0.9999", good, Options{Confidence: 0.4}},
		{"confidence not a number", "confidence: is NaN", good, Options{Confidence: math.NaN()}},
		{"percentile", "percentile: is 1; accepted is 0.5 to 0.999", good, Options{Percentile: 1}},
		{"limit", "limit.value: has the logarithm +Inf", good, Options{LogLimit: &infinite}},
		{"no name", "readings[1].zone: is empty; every reading must name its zone", join(in("a", reading.At(1)), in("", reading.At(2))), Options{}},
		{"no subject", "readings[0].subject: is empty", in("", reading.At(2)), Options{What: "subject"}},
		{"not a concentration", "readings[0].value: is -1; accepted is a finite number greater than 0", in("a", reading.At(-1)), Options{}},
		{"zero", "readings[0].value: is 0; a result that was not detected is stated as below", in("a", reading.At(0)), Options{}},
		{"band", "readings[0].between.upper: is 1, not above the lower bound 2", in("a", reading.Within(2, 1)), Options{}},
	}
	for _, c := range cases {
		_, err := Partition(c.readings, zoneOf, c.o)
		require.ErrorContains(t, err, c.want, c.name)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), c.name)
	}
}

// TestFewest is the least that has an answer: two zones, three readings.
func TestFewest(t *testing.T) {
	t.Parallel()
	l := math.Log(5)
	r := partition(t, join(in("a", reading.At(1), reading.At(2)), in("b", reading.At(8))), Options{LogLimit: &l})
	// ln 1, ln 2 | ln 8: squares within (ln 2)²/2; between 2/3 (ln 8 - ln 2/2)². By hand.
	ln2 := math.Ln2
	require.InDelta(t, (2.0/3)*(2.5*ln2)*(2.5*ln2)/(ln2*ln2/2), r.Test.Statistic, 1e-12)
	for _, v := range []float64{r.Between.Lower, r.Between.Upper, r.Within.Lower, r.Within.Upper, r.Chance.Lower, r.Chance.Upper} {
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
	}
	require.True(t, math.IsNaN(r.Zones[0].PValue), "with two zones neither foretells the other")
	codes := make([]string, 0, len(r.Notes))
	for _, n := range r.Notes {
		codes = append(codes, n.Code)
	}
	require.Equal(t, []string{"few-zones", "single-readings"}, codes)
}

// TestOneSidedZone: a zone with nothing but readings below has no mean of its own, but a shrunken one.
func TestOneSidedZone(t *testing.T) {
	t.Parallel()
	at, under := reading.At, reading.Under
	r := partition(t, join(in("a", at(1), at(2), at(3)), in("b", at(2), at(5)), in("c", under(0.3), under(0.3), under(0.3))), Options{})
	last := r.Zones[2]
	require.Equal(t, "c", last.Name)
	require.Equal(t, 3, last.Censored)
	require.True(t, math.IsNaN(last.GeometricMean))
	require.Less(t, last.Shrunken, 0.3)
	require.Less(t, last.Deviance, 0.0)
	require.Equal(t, "approximate-limits", r.Notes[len(r.Notes)-1].Code)
}

// TestOneToldZone: with one zone that tells its mean the restricted likelihood has no maximum and the likelihood speaks.
func TestOneToldZone(t *testing.T) {
	t.Parallel()
	at, under := reading.At, reading.Under
	r := partition(t, join(in("a", at(1), at(2), at(3)), in("b", under(0.3), under(0.3)), in("c", under(0.3), under(0.3), under(0.3))), Options{})
	require.True(t, math.IsNaN(r.Restricted.Between))
	require.Equal(t, r.Likelihood.Between, r.Between.Estimate)
	codes := make([]string, 0, len(r.Notes))
	for _, n := range r.Notes {
		codes = append(codes, n.Code)
	}
	require.Contains(t, codes, "likelihood-only")
}

// TestOwnMean: with one reading below, the mean of greatest likelihood satisfies its own equation, by hand from the normal density.
func TestOwnMean(t *testing.T) {
	t.Parallel()
	zones, err := gather(in("a", reading.At(2), reading.Under(1)), zoneOf, "zone")
	require.NoError(t, err)
	m := zones[0].ownMean(0.5)
	z := (0 - m) / 0.5
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	require.InDelta(t, density/(0.5*math.Erfc(-z/math.Sqrt2)), (math.Ln2-m)/0.5, 1e-9)
	require.Less(t, m, math.Ln2)
}
