package rpc

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// AssessmentToProto turns an assessment into the answer of the contract. A number that the readings do not determine, or
// that is not finite, is left out; so is a part that cannot do without it. NaN and infinities never reach the wire.
func AssessmentToProto(a *report.Assessment) *tailboundv1.AssessGroupResponse {
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
	r.DistributionFree = distributionFreeToProto(a.DistributionFree)
	r.LimitReduction, r.Reassessment = reductionToProto(a.LimitReduction), reassessmentToProto(a.Reassessment)
	r.Dependence = dependenceToProto(a.Dependence)
	if a.Decision != nil {
		decisionToProto(a.Decision, &s.decision)
		r.Decision = &s.decision
	}
	r.Decisions = each(a.Decisions, decisionToProto)
	r.Curves = curvesToProto(a.Curves)
	r.Notes = each(a.Notes, noteToProto)
	r.Methods = each(a.Methods, methodToProto)
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
	p.Bands = each(v.Bands, bandToProto)
	p.Influence = influenceToProto(v.Influence)
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
	p.Plot = each(v.Plot, plotPointToProto)
	return p
}

// each converts a list with two allocations, however long it is.
func each[From, To any](from []From, convert func(*From, *To)) []*To {
	if len(from) == 0 {
		return nil
	}
	items, list := make([]To, len(from)), make([]*To, len(from))
	for i := range from {
		convert(&from[i], &items[i])
		list[i] = &items[i]
	}
	return list
}

func bandToProto(b *report.Band, p *tailboundv1.Band) {
	p.Lower, p.Probability = b.Lower, b.Probability
	if finite(b.Upper) {
		p.Upper = &b.Upper
	}
}

// plotPointToProto writes 0 where a coordinate is not finite; the stages make no such point.
func plotPointToProto(v *check.PlotPoint, p *tailboundv1.PlotPoint) {
	if finite(v.Reading, v.NormalScore) {
		p.Reading, p.NormalScore = v.Reading, v.NormalScore
	}
	p.Censored = v.Censored
}

func decisionToProto(d *decision.Decision, p *tailboundv1.Decision) {
	p.Rule, p.Outcome, p.Reason, p.Source = ruleToProto(d.Rule), tailboundv1.Outcome(d.Outcome), d.Reason, d.Source
}

func noteToProto(n *report.Note, p *tailboundv1.Note) {
	p.Code, p.Severity, p.Text = n.Code, tailboundv1.Severity(n.Severity), n.Text
}

func methodToProto(m *report.Method, p *tailboundv1.Method) {
	p.Quantity, p.Method, p.Source = m.Quantity, m.Method, m.Source
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// count fits a number of readings, which a message cannot carry more than 2^31-1 of, into the contract's type.
func count(n int) int32 { return int32(min(n, math.MaxInt32)) } //nolint:gosec // Bounded by min.
