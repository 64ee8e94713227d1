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

// AssessmentFromProto turns an answer back into an assessment, for a client that prints it. What is absent becomes nil or
// NaN, as it was in the server.
func AssessmentFromProto(r *tailboundv1.AssessGroupResponse) *report.Assessment {
	a := &report.Assessment{
		Name: r.GetName(), Agent: r.GetAgent(), Unit: reading.Unit(r.GetUnit()), Caution: r.GetCaution(),
		Sample: sampleFromProto(r.GetSample()), Fit: fitFromProto(r.GetFit()),
		Percentile: percentileFromProto(r.GetPercentile()), Exceedance: exceedanceFromProto(r.GetExceedance()),
		Posterior: posteriorFromProto(r.GetPosterior()), FitCheck: fitCheckFromProto(r.GetFitCheck()),
		DistributionFree: distributionFreeFromProto(r.GetDistributionFree(), int(r.GetSample().GetReadings())),
		Decisions:        list(r.GetDecisions(), decisionFromProto),
		LimitReduction:   reductionFromProto(r.GetLimitReduction()),
		Reassessment:     reassessmentFromProto(r.GetReassessment()),
		Dependence:       dependenceFromProto(r.GetDependence()),
		Curves:           curvesFromProto(r.GetCurves()),
		Notes:            list(r.GetNotes(), noteFromProto),
		Methods:          list(r.GetMethods(), methodFromProto),
	}
	if l := r.GetLimit(); l != nil {
		a.Limit = &reading.Limit{Value: l.GetValue(), Unit: reading.Unit(l.GetUnit())}
	}
	if d := r.GetDecision(); d != nil {
		v := decisionFromProto(d)
		a.Decision = &v
	}
	return a
}

func sampleFromProto(s *tailboundv1.Sample) reading.Counts {
	return reading.Counts{
		Readings: int(s.GetReadings()), Detected: int(s.GetDetected()), Below: int(s.GetBelow()),
		Above: int(s.GetAbove()), Between: int(s.GetBetween()), Minimum: s.GetMinimum(), Maximum: s.GetMaximum(),
	}
}

func fitFromProto(f *tailboundv1.Fit) *report.Fit {
	if f == nil {
		return nil
	}
	return &report.Fit{
		GeometricMean:              estimateFromProto(f.GetGeometricMean()),
		GeometricStandardDeviation: estimateFromProto(f.GetGeometricStandardDeviation()),
		ArithmeticMean:             estimateFromProto(f.GetArithmeticMean()),
		ArithmeticMeanML:           orNaN(f.ArithmeticMeanMaximumLikelihood),
	}
}

func estimateFromProto(e *tailboundv1.Estimate) limit.Bounds {
	if e == nil {
		return limit.Bounds{Estimate: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	}
	return limit.Bounds{Estimate: orNaN(e.Estimate), Lower: orNaN(e.Lower), Upper: orNaN(e.Upper)}
}

func percentileFromProto(p *tailboundv1.Percentile) *report.Percentile {
	if p == nil {
		return nil
	}
	return &report.Percentile{
		Fraction: p.GetFraction(), Confidence: p.GetConfidence(),
		Bounds: limit.Bounds{Estimate: orNaN(p.Estimate), Lower: orNaN(p.Lower), Upper: orNaN(p.Upper)},
	}
}

func exceedanceFromProto(e *tailboundv1.Exceedance) *report.Exceedance {
	if e == nil {
		return nil
	}
	return &report.Exceedance{
		Limit: e.GetLimit(), Confidence: e.GetConfidence(),
		Bounds: limit.Bounds{Estimate: e.GetEstimate(), Lower: e.GetLower(), Upper: e.GetUpper()},
	}
}

func posteriorFromProto(p *tailboundv1.Posterior) *report.Posterior {
	if p == nil {
		return nil
	}
	return &report.Posterior{
		Prior: p.GetPrior(), PercentileAboveLimit: p.GetPercentileAboveLimit(),
		Bands: list(p.GetBands(), bandFromProto), Influence: influenceFromProto(p.GetInfluence()), NumericalError: p.GetNumericalError(),
	}
}

func bandFromProto(b *tailboundv1.Band) report.Band {
	upper := math.Inf(1)
	if b.Upper != nil {
		upper = b.GetUpper()
	}
	return report.Band{Lower: b.GetLower(), Upper: upper, Probability: b.GetProbability()}
}

func fitCheckFromProto(c *tailboundv1.FitCheck) *report.FitCheck {
	if c == nil {
		return nil
	}
	return &report.FitCheck{
		Test: c.GetTest(), Statistic: orNaN(c.Statistic), PValue: orNaN(c.PValue),
		Plot: list(c.GetPlot(), plotPointFromProto),
	}
}

func plotPointFromProto(p *tailboundv1.PlotPoint) check.PlotPoint {
	return check.PlotPoint{Reading: p.GetReading(), NormalScore: p.GetNormalScore(), Censored: p.GetCensored()}
}

func decisionFromProto(d *tailboundv1.Decision) decision.Decision {
	return decision.Decision{
		Rule: ruleFromProto(d.GetRule()), Outcome: outcomeFromProto(d.GetOutcome()),
		Reason: d.GetReason(), Source: d.GetSource(),
	}
}

func outcomeFromProto(o tailboundv1.Outcome) decision.Outcome {
	if _, known := tailboundv1.Outcome_name[int32(o)]; !known {
		return decision.NoOutcome
	}
	return decision.Outcome(o) //nolint:gosec // Known values are small.
}

func noteFromProto(n *tailboundv1.Note) report.Note {
	return report.Note{Code: n.GetCode(), Severity: severityFromProto(n.GetSeverity()), Text: n.GetText()}
}

func severityFromProto(s tailboundv1.Severity) report.Severity {
	if _, known := tailboundv1.Severity_name[int32(s)]; !known {
		return 0
	}
	return report.Severity(s) //nolint:gosec // Known values are small.
}

func methodFromProto(m *tailboundv1.Method) report.Method {
	return report.Method{Quantity: m.GetQuantity(), Method: m.GetMethod(), Source: m.GetSource()}
}

// list converts a list; an empty one becomes nil, as the wire does not tell them apart.
func list[From, To any](from []*From, convert func(*From) To) []To {
	if len(from) == 0 {
		return nil
	}
	to := make([]To, len(from))
	for i, p := range from {
		to[i] = convert(p)
	}
	return to
}

func orNaN(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}
