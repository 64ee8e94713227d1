package rpc

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/report"
)

// distributionFreeToProto is seldom needed, so it allocates as it likes.
func distributionFreeToProto(d *report.DistributionFree) *tailboundv1.DistributionFree {
	if d == nil {
		return nil
	}
	p := &tailboundv1.DistributionFree{
		PercentileLower: orderLimitToProto(d.PercentileLower), PercentileUpper: orderLimitToProto(d.PercentileUpper),
	}
	if e := d.Exceedance; e != nil {
		p.Exceedance = &tailboundv1.CountedExceedance{
			SurelyAbove: count(e.Surely), PossiblyAbove: count(e.Possibly), Lower: e.Lower, Upper: e.Upper,
		}
	}
	return p
}

func orderLimitToProto(o limit.OrderLimit) *tailboundv1.OrderLimit {
	p := &tailboundv1.OrderLimit{ReadingsNeeded: count(o.Needed), Value: optional(o.Value), Confidence: optional(o.Confidence)}
	if o.Rank > 0 {
		rank := count(o.Rank)
		p.Rank = &rank
	}
	return p
}

func distributionFreeFromProto(p *tailboundv1.DistributionFree, readings int) *report.DistributionFree {
	if p == nil {
		return nil
	}
	d := &report.DistributionFree{
		PercentileLower: orderLimitFromProto(p.GetPercentileLower()), PercentileUpper: orderLimitFromProto(p.GetPercentileUpper()),
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

func orderLimitFromProto(p *tailboundv1.OrderLimit) limit.OrderLimit {
	if p == nil {
		return limit.OrderLimit{Value: math.NaN(), Confidence: math.NaN()}
	}
	return limit.OrderLimit{
		Rank: int(p.GetRank()), Value: orNaN(p.Value), Confidence: orNaN(p.Confidence), Needed: int(p.GetReadingsNeeded()),
	}
}

func influenceToProto(in *report.PriorInfluence) *tailboundv1.PriorInfluence {
	if in == nil {
		return nil
	}
	return &tailboundv1.PriorInfluence{
		PercentileUpper: optional(in.PercentileUpper), PercentileAboveLimit: optional(in.PercentileAboveLimit), Text: in.Text,
	}
}

func influenceFromProto(p *tailboundv1.PriorInfluence) *report.PriorInfluence {
	if p == nil {
		return nil
	}
	return &report.PriorInfluence{
		PercentileUpper: orNaN(p.PercentileUpper), PercentileAboveLimit: orNaN(p.PercentileAboveLimit), Text: p.GetText(),
	}
}

func reductionToProto(v *report.LimitReduction) *tailboundv1.LimitReduction {
	if v == nil || !finite(v.Stated, v.Factor) {
		return nil
	}
	return &tailboundv1.LimitReduction{Stated: v.Stated, Factor: v.Factor, Reason: v.Reason, Source: v.Source}
}

func reductionFromProto(p *tailboundv1.LimitReduction) *report.LimitReduction {
	if p == nil {
		return nil
	}
	return &report.LimitReduction{Stated: p.GetStated(), Factor: p.GetFactor(), Reason: p.GetReason(), Source: p.GetSource()}
}

// dependenceToProto leaves out what has no correlation.
func dependenceToProto(d *check.Dependence) *tailboundv1.Dependence {
	if d == nil || !finite(d.Correlation, d.EffectiveReadings) {
		return nil
	}
	return &tailboundv1.Dependence{
		Pairs: count(d.Pairs), Correlation: d.Correlation, EffectiveReadings: d.EffectiveReadings, Dependent: d.Dependent,
	}
}

// dependenceFromProto lacks the number of pairs without a value, which is no part of the contract.
func dependenceFromProto(p *tailboundv1.Dependence) *check.Dependence {
	if p == nil {
		return nil
	}
	return &check.Dependence{
		Pairs: int(p.GetPairs()), Correlation: p.GetCorrelation(), EffectiveReadings: p.GetEffectiveReadings(), Dependent: p.GetDependent(),
	}
}

func reassessmentToProto(v *decision.Reassessment) *tailboundv1.Reassessment {
	if v == nil {
		return nil
	}
	return &tailboundv1.Reassessment{Months: count(v.Months), Reason: v.Reason, Source: v.Source}
}

func reassessmentFromProto(p *tailboundv1.Reassessment) *decision.Reassessment {
	if p == nil {
		return nil
	}
	return &decision.Reassessment{Months: int(p.GetMonths()), Reason: p.GetReason(), Source: p.GetSource()}
}

// optional is a number that may be absent.
func optional(v float64) *float64 {
	if !finite(v) {
		return nil
	}
	return &v
}
