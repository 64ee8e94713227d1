package assess

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// estimate fills what is read from a fit: parameters, percentile and, with a limit, exceedance and posterior.
func estimate(a *report.Assessment, f *fit.Fit, o Options) (err error) {
	if a.Fit, err = parameters(f, o.Confidence); err != nil {
		return err
	}
	bounds, err := limit.Percentile(f, o.Percentile, o.Confidence)
	if err != nil {
		return err
	}
	a.Percentile = &report.Percentile{Fraction: o.Percentile, Confidence: o.Confidence, Bounds: bounds}
	if a.Limit == nil {
		return nil
	}
	return againstLimit(a, f, o)
}

func parameters(f *fit.Fit, confidence float64) (*report.Fit, error) {
	mean, err := limit.GeometricMean(f, confidence)
	if err != nil {
		return nil, err
	}
	spread, err := limit.GeometricStandardDeviation(f, confidence)
	if err != nil {
		return nil, err
	}
	arithmetic, err := limit.ArithmeticMean(f, confidence)
	if err != nil {
		return nil, err
	}
	return &report.Fit{
		GeometricMean: mean, GeometricStandardDeviation: spread, ArithmeticMean: arithmetic,
		ArithmeticMeanML: limit.ArithmeticMeanML(f),
	}, nil
}

func againstLimit(a *report.Assessment, f *fit.Fit, o Options) error {
	q := math.Log(a.Limit.Value)
	bounds, err := limit.Exceedance(f, q, o.Confidence)
	if err != nil {
		return err
	}
	a.Exceedance = &report.Exceedance{Limit: a.Limit.Value, Confidence: o.Confidence, Bounds: bounds}
	if f.Posterior == nil {
		return nil
	}
	z := numeric.NormalQuantile(o.Percentile)
	a.Posterior = &report.Posterior{
		Prior:                o.Prior.String(),
		PercentileAboveLimit: f.Posterior.Above(z, q),
		Bands:                bands(f.Posterior, z, q, o.Bands),
	}
	if math.IsNaN(a.Posterior.PercentileAboveLimit) {
		// The limits above were found, the probability was not: it is left out rather than guessed.
		a.Posterior = nil
		return nil
	}
	// After the probabilities, whose error it is.
	a.Posterior.NumericalError = f.Posterior.NumericalError()
	return nil
}

// bands places the percentile between the edges, which are fractions of the limit e^q. The last band is the complement
// taken directly, so that a small chance above the last edge keeps its digits.
func bands(p fit.Posterior, z, q float64, edges []float64) []report.Band {
	out := make([]report.Band, 0, len(edges)+1)
	lower, below := 0.0, 0.0
	for _, edge := range edges {
		g := p.Below(z, q+math.Log(edge))
		out = append(out, report.Band{Lower: lower, Upper: edge, Probability: max(g-below, 0)})
		lower, below = edge, g
	}
	return append(out, report.Band{Lower: lower, Upper: math.Inf(1), Probability: p.Above(z, q+math.Log(lower))})
}

// influence says how far a prior moved the answer, by asking again under the reference prior.
func (s *Assessor) influence(a *report.Assessment, readings []reading.Reading, o Options) {
	if o.Prior.IsReference() || a.Posterior == nil {
		return
	}
	o.Prior = posterior.Prior{}
	f := s.fit(readings, o)
	in := &report.PriorInfluence{PercentileUpper: math.NaN(), PercentileAboveLimit: math.NaN()}
	a.Posterior.Influence = in
	if f.Status != fit.Fitted {
		in.Text = restsOnPrior
		return
	}
	z := numeric.NormalQuantile(o.Percentile)
	upper, err := f.Limits.Quantile(z, o.Confidence)
	if err != nil {
		in.Text = restsOnPrior
		return
	}
	in.PercentileUpper = math.Exp(upper)
	in.PercentileAboveLimit = f.Posterior.Above(z, math.Log(a.Limit.Value))
	in.Text = moved(a, in)
}

const restsOnPrior = "Without the prior the readings determine no answer: it rests on the prior that was stated."

func moved(a *report.Assessment, in *report.PriorInfluence) string {
	return "Under the reference prior the upper limit of the percentile would be " + reading.Figures(in.PercentileUpper, 3) +
		" in place of " + reading.Figures(a.Percentile.Upper, 3) + " and the probability that it exceeds the limit " +
		reading.Figures(in.PercentileAboveLimit, 2) + " in place of " + reading.Figures(a.Posterior.PercentileAboveLimit, 2) + "."
}
