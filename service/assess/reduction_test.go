package assess_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// A limit of 70 reduced by 0.7 for shifts of 10 h is a limit of 49 in every number, and the answer says so.
func TestReducedLimitIsTheLimit(t *testing.T) {
	t.Parallel()
	plain, err := assessor.Group(group(70*0.7, chrysene()...), assess.Options{})
	require.NoError(t, err)
	require.Nil(t, plain.LimitReduction)
	a, err := assessor.Group(group(70, chrysene()...), assess.Options{Shifts: reading.Shifts{DayHours: 10, WeekHours: 40}})
	require.NoError(t, err)
	require.Equal(t, plain.Limit, a.Limit)
	require.Equal(t, plain.Exceedance, a.Exceedance)
	require.Equal(t, 70.0, a.LimitReduction.Stated)
	require.Equal(t, 0.7, a.LimitReduction.Factor)
	require.Contains(t, noteCodes(a), "reduced-limit")
	require.Equal(t, plain.Decision.Reason+" The limit is the stated 70 mg/m3 × 0.7 for long shifts.", a.Decision.Reason)
	require.Equal(t, decision.NoOutcome, a.Decisions[4].Outcome)
	require.NotContains(t, a.Decisions[4].Reason, "long shifts")

	_, err = assessor.Group(group(70, chrysene()...), assess.Options{Shifts: reading.Shifts{DayHours: 25}})
	require.ErrorContains(t, err, "shiftHours: is 25")
}

// The group is due again by EN 689:2018, Annex I (from memory): its geometric mean of 12.29 is 0.246 of the limit.
func TestReassessment(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(group(50, chrysene()...), assess.Options{})
	require.NoError(t, err)
	require.Equal(t, 24, a.Reassessment.Months, a.Reassessment.Reason)
	a, err = assessor.Group(group(50, chrysene()...), assess.Options{ReassessWithin: 12})
	require.NoError(t, err)
	require.Equal(t, 12, a.Reassessment.Months, a.Reassessment.Reason)
	a, err = assessor.Group(group(40, chrysene()...), assess.Options{})
	require.NoError(t, err)
	require.Nil(t, a.Reassessment)
}

// A rule that cannot be applied gives no outcome, and none stands in for it.
func TestRuleAskedForThatDoesNotApply(t *testing.T) {
	t.Parallel()
	a, err := assessor.Group(group(50, chrysene()...), assess.Options{Rule: decision.SingleShift})
	require.NoError(t, err)
	require.Equal(t, decision.SingleShift, a.Decision.Rule)
	require.Equal(t, decision.NoOutcome, a.Decision.Outcome)
	require.Contains(t, a.Decision.Reason, "relative error")
	require.Nil(t, a.Reassessment)

	// With the coefficient of variation one reading is judged: 6.07 against 5 with 1.645 CV = 0.23 is the undecided example of the
	// OSHA Technical Manual.
	a, err = assessor.Group(group(5, 6.07), assess.Options{Rule: decision.SingleShift, RelativeError: 0.23 / 1.645})
	require.NoError(t, err)
	require.Equal(t, decision.Undecided, a.Decision.Outcome, a.Decision.Reason)
}
