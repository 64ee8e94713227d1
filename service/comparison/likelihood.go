package comparison

import (
	"math"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// likelihood fills what the likelihood gives when readings are censored. Where it has no maximum the numbers stay absent.
func (p *Pair) likelihood(a, b []reading.Reading, o Options) {
	groups := [][]reading.Reading{a, b}
	one, err := likelihood.Regress(groups, [][]float64{{1, 0}, {1, 1}})
	if err != nil {
		return
	}
	d, se := one.Coefficients[1], one.Errors[1]
	p.Common = &Common{Coefficient: d, StandardError: se, Sigma: one.Sigma}
	margin := numeric.NormalQuantile(o.Confidence) * se
	p.GeometricMean = exponential(limit.Bounds{Estimate: d, Lower: d - margin, Upper: d + margin})
	if none, err := likelihood.Regress(groups, [][]float64{{1}, {1}}); err == nil {
		p.Means = likelihoodRatio("likelihood ratio, one spread for both campaigns", one.LogLikelihood-none.LogLikelihood)
	}
	p.Spreads = equalSpreads(groups, one.LogLikelihood)
}

// equalSpreads gives each campaign a spread of its own and tests what that gains.
func equalSpreads(groups [][]reading.Reading, together float64) Test {
	const name = "likelihood ratio of equal spreads"
	apart := 0.0
	for i := range groups {
		r, err := likelihood.Regress(groups[i:i+1], [][]float64{{1}})
		if err != nil {
			return absent(name)
		}
		apart += r.LogLikelihood
	}
	return likelihoodRatio(name, apart-together)
}

// likelihoodRatio is the test of one parameter less, from the gain in log-likelihood that the parameter brings.
func likelihoodRatio(name string, gain float64) Test {
	x := max(2*gain, 0)
	return Test{Name: name, Statistic: x, Freedom: []float64{1}, PValue: chiSquareTail(x)}
}

// chiSquareTail is the upper tail of chi-square with one degree of freedom.
func chiSquareTail(x float64) float64 { return 2 * numeric.NormalSurvival(math.Sqrt(x)) }
