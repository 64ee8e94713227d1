// Package assess is the pipeline: readings are fitted, limits are read from the fit, rules judge the limits, and the report
// model takes it all.
package assess

import (
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/planning"
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
	// Prior is what is believed before the readings. The zero value is the reference prior.
	Prior posterior.Prior
	// Calibrated asks for calibrated limits in place of quantiles of the posterior.
	Calibrated bool
	// RelativeError is the standard deviation of the measurement error as a fraction of the true value, 0 to 1.
	RelativeError float64
	// Shifts are the hours for which to reduce the limit. The zero value reduces nothing.
	Shifts reading.Shifts
	// ReassessWithin is the longest time until a compliant group is assessed again, in months; 0 for that of the standard.
	ReassessWithin int
	// AcceptDependent fits readings that follow one another within a shift although they depend on each other.
	AcceptDependent bool
	// Curves asks for what figures draw.
	Curves bool
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
	planner planning.Planner
}

// Group assesses one group. The error is a fault that names the field at fault; readings, limit and prior are expected to have
// passed their own checks.
func (s *Assessor) Group(g reading.Group, o Options) (*report.Assessment, error) {
	a, _, err := s.group(g, o.WithDefaults())
	return a, err
}

// group is Group with the fit that the assessment was read from.
func (s *Assessor) group(g reading.Group, o Options) (*report.Assessment, *fit.Fit, error) {
	a := &report.Assessment{Name: g.Name, Agent: g.Agent, Unit: g.Unit, Sample: reading.Count(g.Readings), Caution: report.Caution}
	if err := convertLimit(a, g); err != nil {
		return nil, nil, err
	}
	if err := reduceLimit(a, o.Shifts); err != nil {
		return nil, nil, err
	}
	known := remarks(g)
	var err error
	if a.Dependence, err = independence(ownReadings, g.Readings, o.AcceptDependent, teach(&known)); err != nil {
		return nil, nil, err
	}
	if err := carriedIndependence(&o, teach(&known)); err != nil {
		return nil, nil, err
	}
	f := s.fit(g.Readings, o)
	if f.Status == fit.Fitted {
		f.Remember()
		if err := estimate(a, &f, o); err != nil {
			withdraw(a, &f, err)
		}
	}
	a.FitCheck = lognormalCheck(&f, g.Readings)
	a.DistributionFree = distributionFree(a, g.Readings, o)
	decide(a, &f, g.Readings, o)
	s.influence(a, g.Readings, o)
	a.Notes = notes(known, a, &f, g.Readings)
	a.Methods = methods(a, &f)
	if o.Curves && a.Fit != nil {
		a.Curves = curves(a, &f, o)
	}
	return a, &f, nil
}

// withdraw takes back what was read from a fit when one of its numbers could not be found to the accuracy promised, as with
// readings that differ in their last bit among bounds at the same place. The rest of the answer stands.
func withdraw(a *report.Assessment, f *fit.Fit, why error) {
	a.Fit, a.Percentile, a.Exceedance, a.Posterior = nil, nil, nil, nil
	*f = fit.Fit{N: f.N, Status: fit.Undetermined, Why: why.Error()}
}

func (s *Assessor) fit(readings []reading.Reading, o Options) fit.Fit {
	return fit.New(readings, fit.Options{
		Prior: o.Prior, RelativeError: o.RelativeError, Calibrated: o.Calibrated, Factors: &s.factors,
	})
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

// reduceLimit multiplies the limit by the factor for long shifts.
func reduceLimit(a *report.Assessment, s reading.Shifts) error {
	if err := s.Check(); err != nil {
		return err
	}
	factor, why := s.Factor()
	if a.Limit == nil || why == "" {
		return nil
	}
	a.LimitReduction = &report.LimitReduction{
		Stated: a.Limit.Value, Factor: factor, Source: reading.ReductionSource, Reason: "The stated limit was reduced " + why + ".",
	}
	a.Limit.Value *= factor
	return nil
}

// limitNote says in the argument of a decision how the limit came about.
func limitNote(a *report.Assessment) string {
	r := a.LimitReduction
	if r == nil {
		return ""
	}
	return "The limit is the stated " + reading.Limit{Value: r.Stated, Unit: a.Unit}.String() + " × " + reading.Stated(r.Factor) +
		" for long shifts."
}

// decide applies every rule and picks out the one asked for, also where it could not be applied: no other rule stands in.
func decide(a *report.Assessment, f *fit.Fit, readings []reading.Reading, o Options) {
	if a.Limit == nil {
		return
	}
	e := decision.Evidence{
		Readings: readings, Counts: a.Sample, Fit: f, Limit: a.Limit.Value, Unit: a.Unit, RelativeError: o.RelativeError,
		LimitNote: limitNote(a),
	}
	if a.Fit != nil && o.Confidence == decision.MeanConfidence {
		e.Mean = &a.Fit.ArithmeticMean
	}
	a.Decisions = decision.All(&e)
	for i := range a.Decisions {
		if a.Decisions[i].Rule == o.Rule {
			a.Decision = &a.Decisions[i]
			a.Reassessment = decision.Reassess(&e, a.Decision, o.ReassessWithin)
		}
	}
}
