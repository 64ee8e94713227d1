package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/reading"
)

// Source: the same handbook's data as printed by a general environmental-statistics R library (its documentation of the
// censored lognormal estimators): ln mean, ln sd, arithmetic mean and coefficient of variation.
func TestManganese(t *testing.T) {
	t.Parallel()
	m, err := Maximize(NewData(samples.Manganese(), 1))
	require.NoError(t, err)
	require.InDelta(t, 2.215905, m.Mu, 5e-7)
	require.InDelta(t, 1.356291, m.Sigma, 5e-7)
	require.InDelta(t, 23.003987, math.Exp(m.Mu+m.Sigma*m.Sigma/2), 5e-7)
	require.InDelta(t, 2.300772, math.Sqrt(math.Expm1(m.Sigma*m.Sigma)), 5e-7)
}

// Source: example 15-3 of the same handbook, every value under 5 taken as below 5.
func TestManganeseWithOneLimit(t *testing.T) {
	t.Parallel()
	m, err := Maximize(NewData(samples.Mixed(manganeseFrom(5), samples.Repeat(5, 7)...), 1))
	require.NoError(t, err)
	require.InDelta(t, 2.323338, m.Mu, 5e-7)
	require.InDelta(t, 1.201756, m.Sigma, 5e-7)
}

func manganeseFrom(limit float64) []float64 {
	var out []float64
	for _, r := range samples.Manganese() {
		if r.Kind == reading.Detected && r.Lower >= limit {
			out = append(out, r.Lower)
		}
	}
	return out
}

// Source: dissolved iron, summer, nine results below three limits; median, mean and standard deviation by maximum likelihood
// as printed in the documentation of a public R library for censored environmental data.
func TestDissolvedIron(t *testing.T) {
	t.Parallel()
	m, err := Maximize(NewData(samples.Mixed([]float64{20, 7, 3}, 10, 10, 10, 10, 3, 3), 1))
	require.NoError(t, err)
	mean := math.Exp(m.Mu + m.Sigma*m.Sigma/2)
	require.InDelta(t, 3.131899, math.Exp(m.Mu), 5e-7)
	require.InDelta(t, 5.211599, mean, 5e-7)
	require.InDelta(t, 6.931668, mean*math.Sqrt(math.Expm1(m.Sigma*m.Sigma)), 5e-7)
}

// Source: arsenic in Oahu streams; the book values (Helsel 2005) are from memory, ln mean and ln sd computed with R survreg.
func TestOahuArsenic(t *testing.T) {
	t.Parallel()
	values := []float64{1.7, 3.2, 2.8, 0.7, 0.9, 0.5, 0.5, 0.5, 0.7, 0.6, 1.5}
	m, err := Maximize(NewData(samples.Mixed(values, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 0.9), 1))
	require.NoError(t, err)
	mean := math.Exp(m.Mu + m.Sigma*m.Sigma/2)
	require.InDelta(t, -0.252829, m.Mu, 5e-7)
	require.InDelta(t, 0.626948, m.Sigma, 5e-7)
	require.InDelta(t, 0.777, math.Exp(m.Mu), 5e-4)
	require.InDelta(t, 0.945, mean, 5e-4)
	require.InDelta(t, 0.656, mean*math.Sqrt(math.Expm1(m.Sigma*m.Sigma)), 5e-4)
}

// Source: sulfate, USEPA 1989, p. 8-9, on the scale of the readings; the maximum by R survreg. The handbook's own answer,
// 1723.66 and 155.31, comes from a table and the divisor n-1 (from memory) and is not the maximum.
func TestSulfate(t *testing.T) {
	t.Parallel()
	values := []float64{
		1850, 1760, 1710, 1575, 1475, 1780, 1790, 1780, 1790, 1800, 1800, 1840, 1820, 1860, 1780, 1760, 1800, 1900, 1770, 1790, 1780,
	}
	m, err := Maximize(onScale(values, []Bound{{1450, 3}}, nil, nil))
	require.NoError(t, err)
	require.InDelta(t, 1723.9951, m.Mu, 5e-5)
	require.InDelta(t, 153.6451, m.Sigma, 5e-5)
}

// Source: Cohen's lambda(h, gamma) for a fraction h below one limit; the row gamma = 0 is the printed table (from memory), the
// others were computed for this project. The maximum is mean - lambda (mean - limit), squares + lambda (mean - limit)².
func TestCohenTable(t *testing.T) {
	t.Parallel()
	fractions := []float64{0.01, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90}
	table := map[float64][]float64{
		0:    {.01010, .05251, .11020, .17342, .24268, .31862, .40210, .59607, .83684, 1.14536, 1.56148, 2.17591, 3.28261},
		0.05: {.01055, .05467, .11431, .17935, .25033, .32793, .41301, .61011, .85396, 1.16559, 1.58499, 2.20304, 3.31419},
		0.10: {.01095, .05660, .11804, .18479, .25741, .33662, .42326, .62343, .87033, 1.18508, 1.60777, 2.22948, 3.34516},
		0.20: {.01164, .05999, .12469, .19460, .27031, .35255, .44219, .64829, .90118, 1.22212, 1.65140, 2.28049, 3.40541},
		0.50: {.01328, .06813, .14090, .21882, .30253, .39276, .49044, .71286, .98262, 1.32136, 1.77002, 2.42129, 3.57456},
		1:    {.01534, .07847, .16170, .25022, .34471, .44592, .55481, .80051, 1.09506, 1.46072, 1.93952, 2.62636, 3.82674},
	}
	for gamma, row := range table {
		for i, h := range fractions {
			detected := 1 - h
			d := Data{Exact: detected, Mean: 1, Squares: gamma * detected, Minimum: 0.5, Maximum: 1.5, Below: []Bound{{0, h}}}
			m, err := Maximize(d)
			require.NoError(t, err)
			require.InDelta(t, row[i], 1-m.Mu, 6e-6, "lambda(%v, %v)", h, gamma)
			require.InDelta(t, row[i], m.Sigma*m.Sigma-gamma, 6e-6, "lambda(%v, %v)", h, gamma)
		}
	}
}
