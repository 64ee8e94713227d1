package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
)

// Source: censored_mle.csv, 50-digit Newton, confirmed there by R survreg; 70 groups from uncensored to 86 % censored, with
// below, above and between.
func TestMaximumTable(t *testing.T) {
	t.Parallel()
	groups := groupSamples(t, "censored_samples.json")
	worst := map[string]float64{}
	rows := reference.Rows(t, "censored_mle.csv")
	require.Len(t, rows, 70)
	for _, row := range rows {
		m, err := maximize(newData(groups[row["id"]].readings(t), 1))
		require.NoError(t, err, row["id"])
		for column, got := range map[string]float64{
			"mu": m.mu, "sigma": m.sigma, "se_mu": m.seMu, "se_lnsigma": m.seLogSigma, "se_sigma": m.sigma * m.seLogSigma,
			"loglik_log": m.logLikelihood, "loglik_nat": m.naturalLogLikelihood(),
		} {
			worst[column] = max(worst[column], relativeError(got, row.Float(t, column)))
		}
		// The covariance is 0 when nothing is censored, so it is measured as a correlation.
		correlation := m.covariance / (m.seMu * m.seLogSigma)
		want := row.Float(t, "cov_mu_lnsigma") / (row.Float(t, "se_mu") * row.Float(t, "se_lnsigma"))
		worst["correlation"] = max(worst["correlation"], math.Abs(correlation-want))
	}
	t.Logf("worst relative errors: %v", worst)
	for column, e := range worst {
		require.LessOrEqual(t, e, 1e-9, column)
	}
}

func BenchmarkMaximize(b *testing.B) {
	for _, id := range []string{"M08", "X05", "H12", "S05"} {
		d := newData(groupSamples(b, "censored_samples.json")[id].readings(b), 1)
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := maximize(d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
