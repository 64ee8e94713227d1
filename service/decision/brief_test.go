package decision

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBriefLeavesTheWorkingsOut(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ reason, want string }{
		{
			"12 results: mean of ln result 2.637, standard deviation 0.7684. UR = (ln 60 - mean)/standard deviation = 1.897 against " +
				"UT = 1.961 for n = 12, so the upper 70 % limit of the 95th percentile, exp(mean + UT × standard deviation) = 63.05 mg/m3, " +
				"is not below the limit, 60 mg/m3.",
			"The upper 70 % limit of the 95th percentile, 63.05 mg/m3, is not below the limit, 60 mg/m3.",
		},
		{
			"3 results (1 without a value): fitted mean of ln result -4.020, standard deviation 0.05416. The 95th percentile has the 95 % " +
				"limits exp(mean + 0.6030 × standard deviation) = 0.01854 ppm and exp(mean + 21.41 × standard deviation) = 0.05721 ppm. The " +
				"upper one is below the limit, 0.09 ppm.",
			"The 95th percentile has the 95 % limits 0.01854 ppm and 0.05721 ppm. The upper one is below the limit, 0.09 ppm.",
		},
		{"The largest result, 8 mg/m3, is above the limit, 2.4 mg/m3.", "The largest result, 8 mg/m3, is above the limit, 2.4 mg/m3."},
		{"", ""},
	} {
		require.Equal(t, c.want, Decision{Reason: c.reason}.Brief())
	}
}

// Whatever the rules say of a group, the brief says something, and no more.
func TestBriefOfEveryRule(t *testing.T) {
	t.Parallel()
	for _, d := range All(evidence(60, 8.5, 23, 3.2, 4.6, 24, 11, 7.9)) {
		brief := d.Brief()
		require.NotEmpty(t, brief, d.Rule.Title())
		require.LessOrEqual(t, len(brief), len(d.Reason))
		require.NotContains(t, brief, "exp(")
		require.False(t, strings.HasPrefix(brief, "7 results"), brief)
		require.True(t, strings.HasSuffix(brief, "."), brief)
	}
}
