package assess_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// Whatever the readings, every rule has a sentence, and none speaks of NaN or infinity; one without an outcome says why.
func TestEveryRuleSpeaksOfNumbers(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 3, 4, 6, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		exponent := rapid.SampledFrom([]float64{0, 2, 300}).Draw(t, "exponent")
		value := func(label string) float64 {
			return math.Pow(10, rapid.Float64Range(-exponent, exponent).Draw(t, label))
		}
		g := group(value("limit"))
		for i := range rapid.IntRange(1, 12).Draw(t, "n") {
			r := reading.At(value(fmt.Sprint("reading ", i)))
			switch rapid.IntRange(0, 5).Draw(t, fmt.Sprint("kind ", i)) {
			case 0:
				r = reading.Under(r.Lower)
			case 1:
				r = reading.Over(r.Lower)
			}
			r.Subject = fmt.Sprint("P", i%3)
			r.Start, r.Duration = start.Add(time.Duration(i)*time.Hour), time.Hour
			g.Readings = append(g.Readings, r)
		}
		o := assess.Options{
			Rule:          decision.Rule(rapid.IntRange(1, 6).Draw(t, "rule")),
			RelativeError: rapid.SampledFrom([]float64{0, 0.1, 1}).Draw(t, "relative error"),
			Shifts:        reading.Shifts{DayHours: rapid.SampledFrom([]float64{0, 12}).Draw(t, "hours")},
		}
		a, err := assessor.Group(g, o)
		require.NoError(t, err)
		require.Len(t, a.Decisions, 6)
		require.Equal(t, o.Rule, a.Decision.Rule)
		for _, d := range a.Decisions {
			require.Regexp(t, `\.$`, d.Reason)
			require.NotRegexp(t, `NaN|Inf|–`, d.Reason)
		}
		if a.Reassessment != nil {
			require.Equal(t, decision.Compliant, a.Decision.Outcome)
			require.NotRegexp(t, `NaN|Inf|–`, a.Reassessment.Reason)
			require.Contains(t, []int{12, 18, 24, 36}, a.Reassessment.Months)
		}
	})
}
