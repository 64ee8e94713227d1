package comparison

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// likelihood fills what the likelihood gives when readings are censored. Where it has no maximum the numbers stay absent.
func (p *Pair) likelihood(a, b *side, o Options) {
	groups := [][]reading.Reading{a.Readings, b.Readings}
	one, err := fit.Regress(groups, [][]float64{{1, 0}, {1, 1}})
	if err != nil {
		return
	}
	d, se := one.Coefficients[1], one.Errors[1]
	p.Common = &Common{Coefficient: d, StandardError: se, Sigma: one.Sigma}
	margin := numeric.NormalQuantile(o.Confidence) * se
	p.GeometricMean = exponential(limit.Bounds{Estimate: d, Lower: d - margin, Upper: d + margin})
	if none, err := fit.Regress(groups, [][]float64{{1}, {1}}); err == nil {
		p.Means = likelihoodRatio("likelihood ratio, one spread for both campaigns", one.LogLikelihood-none.LogLikelihood)
	}
	p.separate(a, b, &one, o)
}

// separate gives each campaign a spread of its own.
func (p *Pair) separate(a, b *side, one *fit.Regression, o Options) {
	first, err := fit.Regress([][]reading.Reading{a.Readings}, [][]float64{{1}})
	if err != nil {
		return
	}
	second, err := fit.Regress([][]reading.Reading{b.Readings}, [][]float64{{1}})
	if err != nil {
		return
	}
	p.Spreads = likelihoodRatio("likelihood ratio of equal spreads", first.LogLikelihood+second.LogLikelihood-one.LogLikelihood)
	w := welch{difference: second.Coefficients[0] - first.Coefficients[0], a: worth(&first), b: worth(&second)}
	p.Separate = w.ratio(o.Confidence)
}

// worth corrects the error of a mean for the spread that was estimated along with it, as the divisor n-1 does when nothing is
// censored: the readings count as many as would tell as much of ln sigma when they all had a value.
func worth(r *fit.Regression) mean {
	freedom := max(r.Worth()-1, 0.5)
	return mean{r.Errors[0] * r.Errors[0] * (freedom + 1) / freedom, freedom}
}

// likelihoodRatio is the test of one parameter less, from the gain in log-likelihood that the parameter brings.
func likelihoodRatio(name string, gain float64) Test {
	x := max(2*gain, 0)
	return Test{Name: name, Statistic: x, Freedom: []float64{1}, PValue: chiSquareTail(x)}
}

// chiSquareTail is the upper tail of chi-square with one degree of freedom.
func chiSquareTail(x float64) float64 { return 2 * numeric.NormalSurvival(math.Sqrt(x)) }
