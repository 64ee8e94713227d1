package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

// campaignPair is one pair of testdata/reference/two_campaigns_samples.json with censoring.
type campaignPair struct {
	ID       string `json:"id"`
	Censored bool   `json:"censored"`
	A, B     []struct {
		Value float64 `json:"value"`
		Below bool    `json:"lt"`
	}
}

func campaignReadings(p []struct {
	Value float64 `json:"value"`
	Below bool    `json:"lt"`
},
) (out []reading.Reading, logs float64) {
	for _, r := range p {
		if r.Below {
			out = append(out, reading.Under(r.Value))
			continue
		}
		out = append(out, reading.At(r.Value))
		logs += math.Log(r.Value)
	}
	return out, logs
}

// Reference: R 4.2.2, survival 3.5-3, survreg lognormal with one sigma (testdata/reference/two_campaigns_censored.csv), to its
// printed digits.
func TestRegressAgainstReference(t *testing.T) {
	t.Parallel()
	pairs := readPairs(t)
	for _, row := range reference.Rows(t, "two_campaigns_censored.csv") {
		p := pairs[row["id"]]
		a, logsA := campaignReadings(p.A)
		b, logsB := campaignReadings(p.B)
		r, err := Regress([][]reading.Reading{a, b}, [][]float64{{1, 0}, {1, 1}})
		require.NoError(t, err)
		for column, got := range map[string]float64{
			"mu_a": r.Coefficients[0], "coef": r.Coefficients[1], "se_coef": r.Errors[1], "sigma": r.Sigma,
			"loglik1_nat": r.LogLikelihood - logsA - logsB,
		} {
			require.InEpsilon(t, row.Float(t, column), got, 1e-11, "%s %s", row["id"], column)
		}
	}
}

// With every reading detected the regression is least squares; with one group it is the maximum of a single group.
func TestRegressClosedForms(t *testing.T) {
	t.Parallel()
	groups := [][]reading.Reading{{reading.At(1), reading.At(2)}, {reading.At(3), reading.At(2)}, {reading.At(5), reading.At(8)}}
	r, err := Regress(groups, [][]float64{{1, 0}, {1, 1}, {1, 2}})
	require.NoError(t, err)
	// Slope (sum of (x - 1) y)/4 over x = 0, 0, 1, 1, 2, 2.
	require.InDelta(t, (math.Log(40)-math.Log(2))/4, r.Coefficients[1], 1e-13)
	require.InDelta(t, 6, r.Worth(), 1e-9)
	one := []reading.Reading{reading.At(1), reading.At(2), reading.At(5), reading.Under(3), reading.Over(4), reading.Within(1, 2)}
	single, err := Regress([][]reading.Reading{one}, [][]float64{{1}})
	require.NoError(t, err)
	m, err := Maximize(NewData(one, 1))
	require.NoError(t, err)
	require.InDelta(t, m.Mu, single.Coefficients[0], 1e-12)
	require.InDelta(t, m.Sigma, single.Sigma, 1e-12)
	require.InDelta(t, m.MuError, single.Errors[0], 1e-12)
	require.InDelta(t, m.LogSpreadError, single.LogSpreadError, 1e-12)
}

func TestRegressRefuses(t *testing.T) {
	t.Parallel()
	sound := []reading.Reading{reading.At(1), reading.At(2)}
	_, err := Regress([][]reading.Reading{sound, {reading.Under(1), reading.Under(2)}}, [][]float64{{1, 0}, {1, 1}})
	require.ErrorContains(t, err, "one side of its bound")
	_, err = Regress([][]reading.Reading{{reading.At(1)}, {reading.At(2)}}, [][]float64{{1, 0}, {1, 1}})
	require.ErrorContains(t, err, "floor to the spread")
}

func readPairs(t *testing.T) map[string]campaignPair {
	t.Helper()
	var raw []struct {
		ID       string `json:"id"`
		Censored bool   `json:"censored"`
	}
	reference.JSON(t, "two_campaigns_samples.json", &raw)
	all := make([]any, len(raw))
	censored := map[string]campaignPair{}
	for i, r := range raw {
		all[i] = &struct{}{}
		if r.Censored {
			all[i] = &campaignPair{}
		}
	}
	reference.JSON(t, "two_campaigns_samples.json", &all)
	for _, p := range all {
		if p, ok := p.(*campaignPair); ok {
			censored[p.ID] = *p
		}
	}
	return censored
}
