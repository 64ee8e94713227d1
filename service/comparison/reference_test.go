package comparison

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

// samples reads every pair by its id.
func samples(tb testing.TB) map[string][2]Campaign {
	tb.Helper()
	var raw []struct {
		ID   string `json:"id"`
		A, B []json.RawMessage
	}
	reference.JSON(tb, "two_campaigns_samples.json", &raw)
	out := map[string][2]Campaign{}
	for _, p := range raw {
		out[p.ID] = [2]Campaign{campaign("a", decode(tb, p.A)...), campaign("b", decode(tb, p.B)...)}
	}
	return out
}

func decode(tb testing.TB, cells []json.RawMessage) (out []reading.Reading) {
	tb.Helper()
	for _, c := range cells {
		var v float64
		if json.Unmarshal(c, &v) == nil {
			out = append(out, reading.At(v))
			continue
		}
		var r struct {
			Value float64 `json:"value"`
			Below bool    `json:"lt"`
		}
		require.NoError(tb, json.Unmarshal(c, &r))
		if r.Below {
			out = append(out, reading.Under(r.Value))
			continue
		}
		out = append(out, reading.At(r.Value))
	}
	return out
}

func campaign(name string, readings ...reading.Reading) Campaign {
	f := fit.New(readings, fit.Options{})
	return Campaign{Name: name, Readings: readings, Fit: &f}
}

func only(tb testing.TB, c [2]Campaign, o Options) Pair {
	tb.Helper()
	r, err := Compare(c[:], o)
	require.NoError(tb, err)
	require.Len(tb, r.Pairs, 1)
	return r.Pairs[0]
}

// Reference: R 4.2.2, re-checked with 30 digits in mpmath (testdata/reference/two_campaigns.csv), every column to 1e-9.
func TestUncensoredAgainstReference(t *testing.T) {
	t.Parallel()
	pairs := samples(t)
	for _, row := range reference.Rows(t, "two_campaigns.csv") {
		narrow := only(t, pairs[row["id"]], Options{Confidence: 0.95})
		wide := only(t, pairs[row["id"]], Options{Confidence: 0.975})
		for column, got := range map[string]float64{
			"ratio_gm": narrow.GeometricMean.Estimate, "lo90": narrow.GeometricMean.Lower, "hi90": narrow.GeometricMean.Upper,
			"lo95": wide.GeometricMean.Lower, "hi95": wide.GeometricMean.Upper,
			"welch_t": narrow.Means.Statistic, "welch_df": narrow.Means.Freedom[0], "welch_p": narrow.Means.PValue,
			"sd_ratio": narrow.LogSpread.Estimate, "sd_lo90": narrow.LogSpread.Lower, "sd_hi90": narrow.LogSpread.Upper,
			"sd_lo95": wide.LogSpread.Lower, "sd_hi95": wide.LogSpread.Upper, "F": narrow.Spreads.Statistic, "F_p": narrow.Spreads.PValue,
			"bf_F": narrow.Equal.Statistic, "bf_p": narrow.Equal.PValue,
		} {
			require.InEpsilon(t, row.Float(t, column), got, 1e-9, "%s %s", row["id"], column)
		}
		require.Equal(t, narrow.GeometricMean, narrow.Separate)
	}
}

// Reference: R 4.2.2 with survival 3.5-3 (testdata/reference/two_campaigns_censored.csv), all but the columns of package fit, to 1e-9;
// differences of log-likelihoods to 1e-9 of the likelihoods.
func TestCensoredAgainstReference(t *testing.T) {
	t.Parallel()
	pairs := samples(t)
	for _, row := range reference.Rows(t, "two_campaigns_censored.csv") {
		narrow := only(t, pairs[row["id"]], Options{Confidence: 0.95})
		wide := only(t, pairs[row["id"]], Options{Confidence: 0.975})
		require.NotNil(t, narrow.Common)
		for column, got := range map[string]float64{
			"ratio_gm": narrow.GeometricMean.Estimate, "wald_lo90": narrow.GeometricMean.Lower, "wald_hi90": narrow.GeometricMean.Upper,
			"wald_lo95": wide.GeometricMean.Lower, "wald_hi95": wide.GeometricMean.Upper,
			"coef": narrow.Common.Coefficient, "se_coef": narrow.Common.StandardError, "sigma": narrow.Common.Sigma,
			"lrt": narrow.Means.Statistic, "lrt_p": narrow.Means.PValue,
			"peto_chisq": narrow.Wilcoxon.Statistic, "peto_p": narrow.Wilcoxon.PValue,
			"logrank_chisq": narrow.LogRank.Statistic, "logrank_p": narrow.LogRank.PValue,
		} {
			require.InEpsilon(t, row.Float(t, column), got, 1e-9, "%s %s", row["id"], column)
		}
	}
}
