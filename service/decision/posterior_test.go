package decision

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
)

// Under the reference prior and with a value for every result, 5 % and 95 % lie where the 95 % limits of the 95th percentile do:
// 90.9247 is the upper one of the chrysene data in USEPA Unified Guidance example 17-3 (EPA 530/R-09-007, 2009).
func TestPosteriorOnBothSidesOfBothLimits(t *testing.T) {
	t.Parallel()
	cases := []struct {
		limit float64
		want  Outcome
		says  string
	}{
		{90.93, Compliant, "is 0.04999, from the noncentral t, at most 0.05."},
		{90.92, Undecided, "between 0.05 and 0.95"},
		{22.43, Undecided, "between 0.05 and 0.95"},
		{22.41, NotCompliant, "at least 0.95"},
	}
	for _, c := range cases {
		got, reason := posteriorProbability(evidence(c.limit, chrysene()...))
		require.Equal(t, c.want, got, reason)
		require.Contains(t, reason, c.says)
	}
}

// An informed prior answers where the readings alone do not; the reason names it.
func TestPosteriorUnderAPrior(t *testing.T) {
	t.Parallel()
	readings := []reading.Reading{reading.Under(0.05), reading.Under(0.05), reading.Under(0.05), reading.Under(0.05)}
	prior := posterior.Prior{Informed: &posterior.InformedPrior{
		GeometricMean: 0.05, GeometricMeanFactor: 3, GeometricStandardDeviation: 2, GeometricStandardDeviationFactor: 1.5,
	}}
	f := fit.New(readings, fit.Options{Prior: prior})
	e := &Evidence{Readings: readings, Counts: reading.Count(readings), Fit: &f, Limit: 1, Unit: "ppm"}
	got, reason := posteriorProbability(e)
	require.Equal(t, Compliant, got, reason)
	require.Contains(t, reason, "from the posterior under the informed prior")
}

// Calibrated limits ask less of the readings than a posterior does: with one value among non-detects there are limits but no
// posterior, and the rule says so.
func TestPosteriorIsNotAppliedWithoutOne(t *testing.T) {
	t.Parallel()
	got, reason := posteriorProbability(mixed(t, reading.At(0.1)))
	require.Equal(t, Undecided, got, reason)
	e := evidence(1, 0.1, 0.2, 0.3)
	e.Fit.Posterior = nil
	got, reason = posteriorProbability(e)
	require.Equal(t, NoOutcome, got, reason)
	require.Contains(t, reason, "without a posterior")
}
