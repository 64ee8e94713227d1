package wire

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// ToAssessment turns an answer back into an assessment, for a client that prints it. What is absent becomes nil or
// NaN, as it was in the server.
func ToAssessment(r *tailboundv1.AssessGroupResponse) *report.Assessment {
	a := &report.Assessment{
		Name: r.GetName(), Agent: r.GetAgent(), Unit: reading.Unit(r.GetUnit()), Caution: r.GetCaution(),
		Sample: toSample(r.GetSample()), Fit: toFit(r.GetFit()),
		Percentile: toPercentile(r.GetPercentile()), Exceedance: toExceedance(r.GetExceedance()),
		Posterior: toPosterior(r.GetPosterior()), FitCheck: toFitCheck(r.GetFitCheck()),
		DistributionFree: toDistributionFree(r.GetDistributionFree(), int(r.GetSample().GetReadings())),
		Decisions:        list(r.GetDecisions(), toDecision),
		LimitReduction:   toReduction(r.GetLimitReduction()),
		Reassessment:     toReassessment(r.GetReassessment()),
		Dependence:       toDependence(r.GetDependence()),
		Curves:           toCurves(r.GetCurves()),
		Notes:            list(r.GetNotes(), toNote),
		Methods:          list(r.GetMethods(), toMethod),
	}
	if l := r.GetLimit(); l != nil {
		a.Limit = &reading.Limit{Value: l.GetValue(), Unit: reading.Unit(l.GetUnit())}
	}
	if d := r.GetDecision(); d != nil {
		v := toDecision(d)
		a.Decision = &v
	}
	return a
}

func toSample(s *tailboundv1.Sample) reading.Counts {
	return reading.Counts{
		Readings: int(s.GetReadings()), Detected: int(s.GetDetected()), Below: int(s.GetBelow()),
		Above: int(s.GetAbove()), Between: int(s.GetBetween()), Minimum: s.GetMinimum(), Maximum: s.GetMaximum(),
	}
}

func toFit(f *tailboundv1.Fit) *report.Fit {
	if f == nil {
		return nil
	}
	return &report.Fit{
		GeometricMean:              toEstimate(f.GetGeometricMean()),
		GeometricStandardDeviation: toEstimate(f.GetGeometricStandardDeviation()),
		ArithmeticMean:             toEstimate(f.GetArithmeticMean()),
		ArithmeticMeanML:           orNaN(f.ArithmeticMeanMaximumLikelihood),
	}
}

func toEstimate(e *tailboundv1.Estimate) limit.Bounds {
	if e == nil {
		return limit.Bounds{Estimate: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	}
	return limit.Bounds{Estimate: orNaN(e.Estimate), Lower: orNaN(e.Lower), Upper: orNaN(e.Upper)}
}

func toPercentile(p *tailboundv1.Percentile) *report.Percentile {
	if p == nil {
		return nil
	}
	return &report.Percentile{
		Fraction: p.GetFraction(), Confidence: p.GetConfidence(),
		Bounds: limit.Bounds{Estimate: orNaN(p.Estimate), Lower: orNaN(p.Lower), Upper: orNaN(p.Upper)},
	}
}

func toExceedance(e *tailboundv1.Exceedance) *report.Exceedance {
	if e == nil {
		return nil
	}
	return &report.Exceedance{
		Limit: e.GetLimit(), Confidence: e.GetConfidence(),
		Bounds: limit.Bounds{Estimate: e.GetEstimate(), Lower: e.GetLower(), Upper: e.GetUpper()},
	}
}

func toPosterior(p *tailboundv1.Posterior) *report.Posterior {
	if p == nil {
		return nil
	}
	return &report.Posterior{
		Prior: p.GetPrior(), PercentileAboveLimit: p.GetPercentileAboveLimit(),
		Bands: list(p.GetBands(), toBand), Influence: toInfluence(p.GetInfluence()), NumericalError: p.GetNumericalError(),
	}
}

func toBand(b *tailboundv1.Band) report.Band {
	upper := math.Inf(1)
	if b.Upper != nil {
		upper = b.GetUpper()
	}
	return report.Band{Lower: b.GetLower(), Upper: upper, Probability: b.GetProbability()}
}

func toFitCheck(c *tailboundv1.FitCheck) *report.FitCheck {
	if c == nil {
		return nil
	}
	return &report.FitCheck{
		Test: c.GetTest(), Statistic: orNaN(c.Statistic), PValue: orNaN(c.PValue),
		Plot: list(c.GetPlot(), toPlotPoint),
	}
}

func toPlotPoint(p *tailboundv1.PlotPoint) check.PlotPoint {
	return check.PlotPoint{Reading: p.GetReading(), NormalScore: p.GetNormalScore(), Censored: p.GetCensored()}
}

func toDecision(d *tailboundv1.Decision) decision.Decision {
	return decision.Decision{
		Rule: ToRule(d.GetRule()), Outcome: toOutcome(d.GetOutcome()),
		Reason: d.GetReason(), Source: d.GetSource(),
	}
}

func toOutcome(o tailboundv1.Outcome) decision.Outcome {
	if _, known := tailboundv1.Outcome_name[int32(o)]; !known {
		return decision.NoOutcome
	}
	return decision.Outcome(o) //nolint:gosec // Known values are small.
}

func toNote(n *tailboundv1.Note) report.Note {
	return report.Note{Code: n.GetCode(), Severity: toSeverity(n.GetSeverity()), Text: n.GetText()}
}

func toSeverity(s tailboundv1.Severity) report.Severity {
	if _, known := tailboundv1.Severity_name[int32(s)]; !known {
		return 0
	}
	return report.Severity(s) //nolint:gosec // Known values are small.
}

func toMethod(m *tailboundv1.Method) report.Method {
	return report.Method{Quantity: m.GetQuantity(), Method: m.GetMethod(), Source: m.GetSource()}
}
