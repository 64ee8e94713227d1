package wire

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// FromAssessment turns an assessment into the answer of the contract. A number that the readings do not determine, or
// that is not finite, is left out; so is a part that cannot do without it. NaN and infinities never reach the wire.
func FromAssessment(a *report.Assessment) *tailboundv1.AssessGroupResponse {
	s := new(answer)
	r := &s.response
	r.Name, r.Agent, r.Unit, r.Caution = a.Name, a.Agent, string(a.Unit), a.Caution
	if a.Limit != nil && finite(a.Limit.Value) {
		s.limit.Value, s.limit.Unit = a.Limit.Value, string(a.Limit.Unit)
		r.Limit = &s.limit
	}
	r.Sample = s.sampleOf(&a.Sample)
	r.Fit = s.fitOf(a.Fit)
	r.Percentile = s.percentileOf(a.Percentile)
	r.Exceedance = s.exceedanceOf(a.Exceedance)
	r.Posterior = s.posteriorOf(a.Posterior)
	r.FitCheck = s.fitCheckOf(a.FitCheck)
	r.DistributionFree = fromDistributionFree(a.DistributionFree)
	r.LimitReduction, r.Reassessment = fromReduction(a.LimitReduction), fromReassessment(a.Reassessment)
	r.Dependence = fromDependence(a.Dependence)
	if a.Decision != nil {
		fromDecision(a.Decision, &s.decision)
		r.Decision = &s.decision
	}
	r.Decisions = each(a.Decisions, fromDecision)
	r.Curves = fromCurves(a.Curves)
	r.Notes = each(a.Notes, fromNote)
	r.Methods = each(a.Methods, fromMethod)
	return r
}

// answer holds the parts of one response that there is at most one of, so that they cost one allocation together.
type answer struct {
	response   tailboundv1.AssessGroupResponse
	limit      tailboundv1.Limit
	sample     tailboundv1.Sample
	fit        tailboundv1.Fit
	estimates  [3]tailboundv1.Estimate
	percentile tailboundv1.Percentile
	exceedance tailboundv1.Exceedance
	posterior  tailboundv1.Posterior
	check      tailboundv1.FitCheck
	decision   tailboundv1.Decision
	// numbers backs the optional doubles: 2 of the sample, 10 of the fit, 3 of the percentile, 2 of the fit check.
	numbers [17]float64
	used    int
}

// optional returns where v is kept, nil when there is no number to keep.
func (s *answer) optional(v float64) *float64 {
	if !finite(v) {
		return nil
	}
	p := &s.numbers[s.used]
	*p = v
	s.used++
	return p
}

func (s *answer) sampleOf(c *reading.Counts) *tailboundv1.Sample {
	p := &s.sample
	p.Readings, p.Detected, p.Below = count(c.Readings), count(c.Detected), count(c.Below)
	p.Above, p.Between = count(c.Above), count(c.Between)
	if c.Readings > 0 {
		p.DetectedFraction = float64(c.Detected) / float64(c.Readings)
	}
	if c.Detected > 0 {
		p.Minimum, p.Maximum = s.optional(c.Minimum), s.optional(c.Maximum)
	}
	return p
}

func (s *answer) fitOf(f *report.Fit) *tailboundv1.Fit {
	if f == nil {
		return nil
	}
	p := &s.fit
	p.GeometricMean = s.estimateOf(&s.estimates[0], f.GeometricMean)
	p.GeometricStandardDeviation = s.estimateOf(&s.estimates[1], f.GeometricStandardDeviation)
	p.ArithmeticMean = s.estimateOf(&s.estimates[2], f.ArithmeticMean)
	p.ArithmeticMeanMaximumLikelihood = s.optional(f.ArithmeticMeanML)
	return p
}

func (s *answer) estimateOf(p *tailboundv1.Estimate, b limit.Bounds) *tailboundv1.Estimate {
	p.Estimate, p.Lower, p.Upper = s.optional(b.Estimate), s.optional(b.Lower), s.optional(b.Upper)
	return p
}

func (s *answer) percentileOf(v *report.Percentile) *tailboundv1.Percentile {
	if v == nil || !finite(v.Fraction, v.Confidence) {
		return nil
	}
	p := &s.percentile
	p.Fraction, p.Confidence = v.Fraction, v.Confidence
	p.Estimate, p.Lower, p.Upper = s.optional(v.Estimate), s.optional(v.Lower), s.optional(v.Upper)
	return p
}

func (s *answer) exceedanceOf(v *report.Exceedance) *tailboundv1.Exceedance {
	if v == nil || !finite(v.Limit, v.Confidence, v.Estimate, v.Lower, v.Upper) {
		return nil
	}
	p := &s.exceedance
	p.Limit, p.Confidence, p.Estimate, p.Lower, p.Upper = v.Limit, v.Confidence, v.Estimate, v.Lower, v.Upper
	return p
}

func (s *answer) posteriorOf(v *report.Posterior) *tailboundv1.Posterior {
	if v == nil || !finite(v.PercentileAboveLimit) {
		return nil
	}
	for _, b := range v.Bands {
		if !finite(b.Lower, b.Probability) {
			return nil
		}
	}
	p := &s.posterior
	p.Prior, p.PercentileAboveLimit = v.Prior, v.PercentileAboveLimit
	p.Bands = each(v.Bands, fromBand)
	p.Influence = fromInfluence(v.Influence)
	if finite(v.NumericalError) {
		p.NumericalError = v.NumericalError
	}
	return p
}

func (s *answer) fitCheckOf(v *report.FitCheck) *tailboundv1.FitCheck {
	if v == nil {
		return nil
	}
	p := &s.check
	p.Test = v.Test
	p.Statistic, p.PValue = s.optional(v.Statistic), s.optional(v.PValue)
	p.Plot = each(v.Plot, fromPlotPoint)
	return p
}

func fromBand(b *report.Band, p *tailboundv1.Band) {
	p.Lower, p.Probability = b.Lower, b.Probability
	if finite(b.Upper) {
		p.Upper = &b.Upper
	}
}

// fromPlotPoint writes 0 where a coordinate is not finite; the stages make no such point.
func fromPlotPoint(v *check.PlotPoint, p *tailboundv1.PlotPoint) {
	if finite(v.Reading, v.NormalScore) {
		p.Reading, p.NormalScore = v.Reading, v.NormalScore
	}
	p.Censored = v.Censored
}

func fromDecision(d *decision.Decision, p *tailboundv1.Decision) {
	p.Rule, p.Outcome, p.Reason, p.Source = fromRule(d.Rule), tailboundv1.Outcome(d.Outcome), d.Reason, d.Source
}

func fromNote(n *report.Note, p *tailboundv1.Note) {
	p.Code, p.Severity, p.Text = n.Code, tailboundv1.Severity(n.Severity), n.Text
}

func fromMethod(m *report.Method, p *tailboundv1.Method) {
	p.Quantity, p.Method, p.Source = m.Quantity, m.Method, m.Source
}
