// Package assess is the pipeline: readings are fitted, limits are read from the fit, rules judge the limits, and the report
// model takes it all.
package assess

import (
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Options says how to judge. The zero value of a field stands for its default.
type Options struct {
	// Percentile is the fraction of the percentile to report, 0.5 to 0.999. Default 0.95.
	Percentile float64
	// Confidence is that of every limit, one-sided, 0.5 to 0.9999. Default 0.95.
	Confidence float64
	// Rule is the rule whose outcome is the answer. Default decision.EN689.
	Rule decision.Rule
	// Bands are the inner edges of the bands of the percentile, as ascending fractions of the limit. Default 0.1, 0.5, 1.
	Bands []float64
}

// WithDefaults fills what the caller left out.
func (o Options) WithDefaults() Options {
	if o.Percentile == 0 {
		o.Percentile = 0.95
	}
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if o.Rule == 0 {
		o.Rule = decision.EN689
	}
	if len(o.Bands) == 0 {
		o.Bands = []float64{0.1, 0.5, 1}
	}
	return o
}

// Assessor assesses groups. It remembers what depends on the size of a group alone, never readings, and is safe for
// concurrent use. The zero value is ready.
type Assessor struct {
	factors fit.Factors
}

// Group assesses one group. The error is a fault that names the field at fault; readings and limit are expected to have
// passed their own checks.
func (s *Assessor) Group(g reading.Group, o Options) (*report.Assessment, error) {
	o = o.WithDefaults()
	a := &report.Assessment{Name: g.Name, Agent: g.Agent, Unit: g.Unit, Sample: reading.Count(g.Readings), Caution: report.Caution}
	if err := convertLimit(a, g); err != nil {
		return nil, err
	}
	if err := refuseCensored(g.Readings); err != nil {
		return nil, err
	}
	f := fit.Uncensored(g.Readings, &s.factors)
	if f.Status == fit.Fitted {
		f.Posterior = fit.Remember(f.Posterior)
		if err := estimate(a, &f, o); err != nil {
			return nil, err
		}
	}
	a.FitCheck = check(&f)
	decide(a, &f, g.Readings, o)
	a.Notes = notes(a, &f)
	a.Methods = methods(a)
	return a, nil
}

// convertLimit puts the limit into the unit of the readings.
func convertLimit(a *report.Assessment, g reading.Group) error {
	if g.Limit == nil {
		return nil
	}
	from := g.Limit.Unit
	if from == "" {
		from = g.Unit
	}
	value, err := reading.Convert(g.Limit.Value, from, g.Unit)
	if err != nil {
		return fault.Under("limit.unit", err)
	}
	if !(value > 0) || math.IsInf(value, 0) {
		return fault.Invalid("limit.value", "%v %s is outside the range of numbers in %s", g.Limit.Value, from, g.Unit)
	}
	a.Limit = &reading.Limit{Value: value, Unit: g.Unit}
	return nil
}

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
	z := numeric.NormalQuantile(o.Percentile)
	a.Posterior = &report.Posterior{
		Prior:                "reference, density proportional to 1/sigma",
		PercentileAboveLimit: f.Posterior.Above(z, q),
		Bands:                bands(f.Posterior, z, q, o.Bands),
	}
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

// check returns the test of the lognormal and the points of its plot; nil without a spread to plot.
func check(f *fit.Fit) *report.FitCheck {
	if f.Status != fit.Fitted {
		return nil
	}
	w, p, err := fit.ShapiroWilk(f.Logs)
	if err != nil {
		return &report.FitCheck{
			Test: "probability plot only; " + err.Error(), Statistic: math.NaN(), PValue: math.NaN(), Plot: fit.ProbabilityPlot(f),
		}
	}
	return &report.FitCheck{Test: "Shapiro-Wilk on ln reading", Statistic: w, PValue: p, Plot: fit.ProbabilityPlot(f)}
}

// decide applies every rule and puts the one asked for first.
func decide(a *report.Assessment, f *fit.Fit, readings []reading.Reading, o Options) {
	if a.Limit == nil {
		return
	}
	a.Decisions = decision.All(&decision.Evidence{
		Readings: readings, Counts: a.Sample, Fit: f, Limit: a.Limit.Value, Unit: a.Unit,
	})
	for i := range a.Decisions {
		if a.Decisions[i].Rule == o.Rule {
			a.Decision = &a.Decisions[i]
		}
	}
}

// refuseCensored names the first reading that the fit cannot take yet.
func refuseCensored(readings []reading.Reading) error {
	for i := range readings {
		if k := readings[i].Kind; k != reading.Detected {
			return fault.Unimplemented("readings[%d].%v: readings without a value are part of the contract, but this version does "+
				"not fit them yet; accepted are readings with a value", i, k)
		}
	}
	return nil
}
