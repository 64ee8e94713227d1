package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/internal/samples"
)

// Source: censored_mle.csv, 50-digit Newton, confirmed there by R survreg; 70 groups from uncensored to 86 % censored, with
// below, above and between.
func TestMaximumTable(t *testing.T) {
	t.Parallel()
	groups := samples.Groups(t, "censored_samples.json")
	worst := map[string]float64{}
	rows := reference.Rows(t, "censored_mle.csv")
	require.Len(t, rows, 70)
	for _, row := range rows {
		d := NewData(groups[row["id"]].Readings(t), 1)
		m, err := Maximize(d)
		require.NoError(t, err, row["id"])
		for column, got := range map[string]float64{
			"mu": m.Mu, "sigma": m.Sigma, "se_mu": m.MuError, "se_lnsigma": m.LogSpreadError, "se_sigma": m.Sigma * m.LogSpreadError,
			"loglik_log": m.LogLikelihood, "loglik_nat": m.LogLikelihood - d.Exact*d.Mean,
		} {
			worst[column] = max(worst[column], relativeError(got, row.Float(t, column)))
		}
		// The covariance is 0 when nothing is censored, so it is measured as a correlation.
		correlation := m.Covariance / (m.MuError * m.LogSpreadError)
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
		d := NewData(samples.Groups(b, "censored_samples.json")[id].Readings(b), 1)
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Maximize(d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
