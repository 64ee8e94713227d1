package wire

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/report"
)

// fromDistributionFree is seldom needed, so it allocates as it likes.
func fromDistributionFree(d *report.DistributionFree) *tailboundv1.DistributionFree {
	if d == nil {
		return nil
	}
	p := &tailboundv1.DistributionFree{
		PercentileLower: fromOrderLimit(d.PercentileLower), PercentileUpper: fromOrderLimit(d.PercentileUpper),
	}
	if e := d.Exceedance; e != nil {
		p.Exceedance = &tailboundv1.CountedExceedance{
			SurelyAbove: count(e.Surely), PossiblyAbove: count(e.Possibly), Lower: e.Lower, Upper: e.Upper,
		}
	}
	return p
}

func fromOrderLimit(o limit.OrderLimit) *tailboundv1.OrderLimit {
	p := &tailboundv1.OrderLimit{ReadingsNeeded: count(o.Needed), Value: optional(o.Value), Confidence: optional(o.Confidence)}
	if o.Rank > 0 {
		rank := count(o.Rank)
		p.Rank = &rank
	}
	return p
}

func toDistributionFree(p *tailboundv1.DistributionFree, readings int) *report.DistributionFree {
	if p == nil {
		return nil
	}
	d := &report.DistributionFree{
		PercentileLower: toOrderLimit(p.GetPercentileLower()), PercentileUpper: toOrderLimit(p.GetPercentileUpper()),
	}
	if e := p.GetExceedance(); e != nil {
		d.Exceedance = &limit.CountedExceedance{
			Bounds: limit.Bounds{Estimate: math.NaN(), Lower: e.GetLower(), Upper: e.GetUpper()},
			Surely: int(e.GetSurelyAbove()), Possibly: int(e.GetPossiblyAbove()), Readings: readings,
		}
		if e.GetSurelyAbove() == e.GetPossiblyAbove() {
			d.Exceedance.Estimate = float64(e.GetSurelyAbove()) / float64(readings)
		}
	}
	return d
}

func toOrderLimit(p *tailboundv1.OrderLimit) limit.OrderLimit {
	if p == nil {
		return limit.OrderLimit{Value: math.NaN(), Confidence: math.NaN()}
	}
	return limit.OrderLimit{
		Rank: int(p.GetRank()), Value: orNaN(p.Value), Confidence: orNaN(p.Confidence), Needed: int(p.GetReadingsNeeded()),
	}
}

func fromInfluence(in *report.PriorInfluence) *tailboundv1.PriorInfluence {
	if in == nil {
		return nil
	}
	return &tailboundv1.PriorInfluence{
		PercentileUpper: optional(in.PercentileUpper), PercentileAboveLimit: optional(in.PercentileAboveLimit), Text: in.Text,
	}
}

func toInfluence(p *tailboundv1.PriorInfluence) *report.PriorInfluence {
	if p == nil {
		return nil
	}
	return &report.PriorInfluence{
		PercentileUpper: orNaN(p.PercentileUpper), PercentileAboveLimit: orNaN(p.PercentileAboveLimit), Text: p.GetText(),
	}
}

func fromReduction(v *report.LimitReduction) *tailboundv1.LimitReduction {
	if v == nil || !finite(v.Stated, v.Factor) {
		return nil
	}
	return &tailboundv1.LimitReduction{Stated: v.Stated, Factor: v.Factor, Reason: v.Reason, Source: v.Source}
}

func toReduction(p *tailboundv1.LimitReduction) *report.LimitReduction {
	if p == nil {
		return nil
	}
	return &report.LimitReduction{Stated: p.GetStated(), Factor: p.GetFactor(), Reason: p.GetReason(), Source: p.GetSource()}
}

// fromDependence leaves out what has no correlation.
func fromDependence(d *check.Dependence) *tailboundv1.Dependence {
	if d == nil || !finite(d.Correlation, d.EffectiveReadings) {
		return nil
	}
	return &tailboundv1.Dependence{
		Pairs: count(d.Pairs), Correlation: d.Correlation, EffectiveReadings: d.EffectiveReadings, Dependent: d.Dependent,
	}
}

// toDependence lacks the number of pairs without a value, which is no part of the contract.
func toDependence(p *tailboundv1.Dependence) *check.Dependence {
	if p == nil {
		return nil
	}
	return &check.Dependence{
		Pairs: int(p.GetPairs()), Correlation: p.GetCorrelation(), EffectiveReadings: p.GetEffectiveReadings(), Dependent: p.GetDependent(),
	}
}

func fromReassessment(v *decision.Reassessment) *tailboundv1.Reassessment {
	if v == nil {
		return nil
	}
	return &tailboundv1.Reassessment{Months: count(v.Months), Reason: v.Reason, Source: v.Source}
}

func toReassessment(p *tailboundv1.Reassessment) *decision.Reassessment {
	if p == nil {
		return nil
	}
	return &decision.Reassessment{Months: int(p.GetMonths()), Reason: p.GetReason(), Source: p.GetSource()}
}
