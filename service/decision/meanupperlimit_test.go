package decision

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// airLead is the air lead of NIOSH HETA 89-052, 23 February 1989, in µg/m3, as used by Krishnamoorthy, Mathew and Ramachandran,
// J Occup Environ Hyg 3:642 (2006).
func airLead() []float64 {
	return []float64{200, 120, 15, 7, 8, 6, 48, 61, 380, 80, 29, 1000, 350, 1400, 110}
}

// Land's 95 % limits of the air lead are 135.841 and 2283.754 by 40-digit quadrature (testdata/reference holds the method).
func TestMeanUpperLimitOnBothSidesOfBothLimits(t *testing.T) {
	t.Parallel()
	cases := []struct {
		limit float64
		want  Outcome
	}{{2284, Compliant}, {2283, Undecided}, {136, Undecided}, {135.8, NotCompliant}}
	for _, c := range cases {
		got, reason := meanUpperLimit(evidence(c.limit, airLead()...))
		require.Equal(t, c.want, got, reason)
		require.Contains(t, reason, "95 % limits 135.8 mg/m3 and 2284 mg/m3, by Land's method")
		require.Contains(t, reason, "harm follows the long-term mean")
	}
}

// Land's upper 95 % limit of the benzene of USEPA Unified Guidance example 21-3 (EPA 530/R-09-007, 2009) is printed as 18.86139.
func TestMeanUpperLimitOfBenzene(t *testing.T) {
	t.Parallel()
	for limit, want := range map[float64]Outcome{18.8613: Undecided, 18.8615: Compliant} {
		got, reason := meanUpperLimit(evidence(limit, .5, .5, 1.6, 1.8, 1.1, 16.1, 1.6, .25))
		require.Equal(t, want, got, reason)
	}
}

func TestMeanUpperLimitTakesWhatIsKnown(t *testing.T) {
	t.Parallel()
	e := evidence(2284, airLead()...)
	e.Mean = &limit.Bounds{Estimate: 1, Lower: 0.5, Upper: 2}
	_, reason := meanUpperLimit(e)
	require.Contains(t, reason, "limits 0.5000 mg/m3 and 2.000 mg/m3")
}

func TestMeanUpperLimitWithNonDetects(t *testing.T) {
	t.Parallel()
	got, reason := meanUpperLimit(mixed(t, reading.At(.1), reading.At(.07), reading.At(.12), reading.At(.09), reading.Under(.05), reading.Under(.05)))
	require.Equal(t, Compliant, got, reason)
	require.Contains(t, reason, "from the posterior under the reference prior")
	got, reason = meanUpperLimit(mixed(t, reading.Under(.05), reading.Under(.05)))
	require.Equal(t, Undecided, got, reason)
	require.Contains(t, reason, "No lognormal can be fitted")
}

// The mean of readings that spread over hundreds of powers of ten has no upper limit in a float64; that is above every limit.
func TestMeanUpperLimitBeyondNumbers(t *testing.T) {
	t.Parallel()
	got, reason := meanUpperLimit(evidence(1e300, 1e-300, 1e300))
	require.NotEqual(t, Compliant, got, reason)
	require.Contains(t, reason, "too large for a number")
	require.NotContains(t, reason, "Inf")
}
