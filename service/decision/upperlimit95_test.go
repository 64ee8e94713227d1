package decision

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The upper 95 % limit of the 95th percentile of the chrysene data is 90.9247 in USEPA Unified Guidance example 17-3
// (EPA 530/R-09-007, 2009); the lower one, exp(2.5085773 + 0.958032 × 0.6279479) = 22.42, uses the exact factor for n = 8.
func TestUpperLimit95OnBothSidesOfBothLimits(t *testing.T) {
	t.Parallel()
	cases := []struct {
		limit float64
		want  Outcome
	}{{90.93, Compliant}, {90.92, Undecided}, {22.43, Undecided}, {22.41, NotCompliant}}
	for _, c := range cases {
		got, reason := upperLimit95(evidence(c.limit, chrysene()...))
		require.Equal(t, c.want, got, reason)
		require.Contains(t, reason, "mean + 3.187 × standard deviation) = 90.92 mg/m3")
	}
}

func TestUpperLimit95NeedsASpread(t *testing.T) {
	t.Parallel()
	for _, values := range [][]float64{{0.1}, {0.1, 0.1, 0.1}} {
		got, reason := upperLimit95(evidence(1, values...))
		require.Equal(t, Undecided, got)
		require.Contains(t, reason, "No lognormal can be fitted")
	}
}

func TestAllAnswersInTheOrderOfTheTable(t *testing.T) {
	t.Parallel()
	all := All(evidence(50, chrysene()...))
	want := []Rule{EN689, UpperLimit95, Posterior, MeanUpperLimit, SingleShift, GroupAndSubject}
	require.Len(t, all, len(want))
	for i, d := range all {
		require.Equal(t, want[i], d.Rule)
		require.NotEmpty(t, d.Reason)
		require.NotEmpty(t, d.Source)
	}
	require.Equal(t, NoOutcome, all[4].Outcome, "without a coefficient of variation")
	require.Equal(t, NoOutcome, all[5].Outcome, "without subjects")
}

// Every row of the table is whole, and stands for one rule.
func TestTable(t *testing.T) {
	t.Parallel()
	for i, row := range table() {
		require.Equal(t, Rule(i+1), row.id)
		require.Equal(t, row.name, row.id.Name())
		require.Equal(t, row.title, row.id.Title())
		require.Equal(t, row.needs, row.id.Needs())
		require.Equal(t, row.answers, row.id.Answers())
		for _, text := range []string{row.name, row.title, row.needs, row.answers, row.source} {
			require.NotEmpty(t, text)
			require.NotEqual(t, byte('.'), text[len(text)-1])
		}
	}
	require.Empty(t, Rule(99).Name())
	require.Equal(t, "a rule unknown to this version", Rule(99).Title())
}

func TestOutcomesSpeakPlainly(t *testing.T) {
	t.Parallel()
	require.Equal(t, "not compliant", NotCompliant.String())
	require.Equal(t, "undecided", Undecided.String())
	require.Equal(t, "compliant", Compliant.String())
	require.Equal(t, "not judged", NoOutcome.String())
}
