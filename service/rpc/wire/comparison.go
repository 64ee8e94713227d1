package wire

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// ToCampaigns turns a request into a name, the campaigns, the reduction asked about and the options that count.
func ToCampaigns(r *tailboundv1.CompareCampaignsRequest) (string, []reading.Group, float64, assess.Options) {
	groups := make([]reading.Group, len(r.GetCampaigns()))
	for i, c := range r.GetCampaigns() {
		groups[i], _ = ToGroup(&tailboundv1.AssessGroupRequest{
			Name: c.GetName(), Agent: r.GetAgent(), Unit: r.GetUnit(), Limit: r.GetLimit(), Readings: c.GetReadings(),
		})
	}
	return r.GetName(), groups, r.GetReduction(), assess.Options{
		Percentile: r.GetPercentile(), Confidence: r.GetConfidence(), AcceptDependent: r.GetAcceptDependent(),
	}
}

// FromComparison turns the answer into that of the contract. What is not finite is left out.
func FromComparison(c *report.Comparison) *tailboundv1.CompareCampaignsResponse {
	r := &tailboundv1.CompareCampaignsResponse{
		Name: c.Name, Agent: c.Agent, Percentile: c.Percentile, Confidence: c.Confidence, Comparisons: each(c.Pairs, fromPair),
		Notes: each(c.Notes, fromNote), Methods: each(c.Methods, fromMethod), Caution: c.Caution, Trend: fromTrend(c.Trend),
	}
	if c.Reduction > 0 {
		r.Reduction = &c.Reduction
	}
	for _, a := range c.Campaigns {
		r.Campaigns = append(r.Campaigns, FromAssessment(a))
	}
	return r
}

func fromPair(v *comparison.Pair, p *tailboundv1.Comparison) {
	p.From, p.To, p.Conclusion = v.From, v.To, v.Conclusion
	p.GeometricMeanRatio, p.LogStandardDeviationRatio = fromBounds(v.GeometricMean), fromBounds(v.LogSpread)
	p.PercentileRatio, p.ArithmeticMeanRatio = fromBounds(v.Percentile), fromBounds(v.ArithmeticMean)
	p.SeparateSpreadRatio = fromBounds(v.Separate)
	p.ProbabilityLower, p.ProbabilityLowerByReduction = optional(v.Lower), optional(v.LowerByReduction)
	p.ClaimableReduction, p.PValue, p.AdjustedPValue = optional(v.Claim), optional(v.Means.PValue), optional(v.PAdjusted)
	if v.Exceedance != nil {
		p.ExceedanceDifference = fromBounds(*v.Exceedance)
	}
	p.MeanTest, p.SpreadTest, p.RobustSpreadTest = fromTest(&v.Means), fromTest(&v.Spreads), fromTest(&v.Equal)
	p.RankTest, p.LogRankTest = fromTest(&v.Wilcoxon), fromTest(&v.LogRank)
	if c := v.Common; c != nil && finite(c.Coefficient, c.StandardError, c.Sigma) {
		p.CommonSpread = &tailboundv1.CommonSpread{LogRatio: c.Coefficient, StandardError: c.StandardError, Sigma: c.Sigma}
	}
	p.WithinZones = fromWithin(v.Within)
	if v.Further > 0 {
		further := count(v.Further)
		p.FurtherReadings = &further
	}
}

// fromBounds is nil when nothing is determined.
func fromBounds(b limit.Bounds) *tailboundv1.Estimate {
	e := &tailboundv1.Estimate{Estimate: optional(b.Estimate), Lower: optional(b.Lower), Upper: optional(b.Upper)}
	if e.Estimate == nil && e.Lower == nil && e.Upper == nil {
		return nil
	}
	return e
}

func fromTest(t *comparison.Test) *tailboundv1.ComparisonTest {
	if !finite(t.Statistic, t.PValue) || !finite(t.Freedom...) {
		return nil
	}
	return &tailboundv1.ComparisonTest{Test: t.Name, Statistic: t.Statistic, DegreesOfFreedom: t.Freedom, PValue: t.PValue}
}

func fromWithin(w *comparison.Within) *tailboundv1.WithinZones {
	if w == nil {
		return nil
	}
	return &tailboundv1.WithinZones{
		GeometricMeanRatio: fromBounds(w.Ratio), Test: fromTest(&w.Test), Zones: each(w.Zones, fromZoneChange),
	}
}

func fromZoneChange(z *comparison.ZoneChange, p *tailboundv1.ZoneChange) {
	p.Zone, p.GeometricMeanRatio, p.OtherWay = z.Zone, fromBounds(z.Ratio), z.OtherWay
}

func fromTrend(t *comparison.Trend) *tailboundv1.Trend {
	if t == nil {
		return nil
	}
	step := tailboundv1.TrendStep_TREND_STEP_CAMPAIGN
	if t.PerYear {
		step = tailboundv1.TrendStep_TREND_STEP_YEAR
	}
	return &tailboundv1.Trend{Ratio: fromBounds(t.Ratio), Step: step, Test: fromTest(&t.Test)}
}

// ToComparison turns an answer back, for a client that prints it.
func ToComparison(r *tailboundv1.CompareCampaignsResponse) *report.Comparison {
	return &report.Comparison{
		Name: r.GetName(), Agent: r.GetAgent(), Percentile: r.GetPercentile(), Confidence: r.GetConfidence(), Reduction: r.GetReduction(),
		Campaigns: list(r.GetCampaigns(), ToAssessment), Pairs: list(r.GetComparisons(), toPair),
		Trend: toTrend(r.GetTrend()), Notes: list(r.GetNotes(), toNote), Methods: list(r.GetMethods(), toMethod),
		Caution: r.GetCaution(),
	}
}

func toPair(p *tailboundv1.Comparison) comparison.Pair {
	v := comparison.Pair{
		From: p.GetFrom(), To: p.GetTo(), Conclusion: p.GetConclusion(), Further: int(p.GetFurtherReadings()),
		GeometricMean: toEstimate(p.GetGeometricMeanRatio()), LogSpread: toEstimate(p.GetLogStandardDeviationRatio()),
		Percentile: toEstimate(p.GetPercentileRatio()), ArithmeticMean: toEstimate(p.GetArithmeticMeanRatio()),
		Separate: toEstimate(p.GetSeparateSpreadRatio()),
		Lower:    orNaN(p.ProbabilityLower), LowerByReduction: orNaN(p.ProbabilityLowerByReduction),
		Claim: orNaN(p.ClaimableReduction), PAdjusted: orNaN(p.AdjustedPValue),
		Means: toTest(p.GetMeanTest()), Spreads: toTest(p.GetSpreadTest()), Equal: toTest(p.GetRobustSpreadTest()),
		Wilcoxon: toTest(p.GetRankTest()), LogRank: toTest(p.GetLogRankTest()), Within: toWithin(p.GetWithinZones()),
	}
	if e := p.GetExceedanceDifference(); e != nil {
		b := toEstimate(e)
		v.Exceedance = &b
	}
	if c := p.GetCommonSpread(); c != nil {
		v.Common = &comparison.Common{Coefficient: c.GetLogRatio(), StandardError: c.GetStandardError(), Sigma: c.GetSigma()}
	}
	return v
}

func toTest(t *tailboundv1.ComparisonTest) comparison.Test {
	if t == nil {
		return comparison.Test{Statistic: math.NaN(), PValue: math.NaN()}
	}
	return comparison.Test{Name: t.GetTest(), Statistic: t.GetStatistic(), Freedom: t.GetDegreesOfFreedom(), PValue: t.GetPValue()}
}

func toWithin(w *tailboundv1.WithinZones) *comparison.Within {
	if w == nil {
		return nil
	}
	return &comparison.Within{
		Ratio: toEstimate(w.GetGeometricMeanRatio()), Test: toTest(w.GetTest()),
		Zones: list(w.GetZones(), func(z *tailboundv1.ZoneChange) comparison.ZoneChange {
			return comparison.ZoneChange{Zone: z.GetZone(), Ratio: toEstimate(z.GetGeometricMeanRatio()), OtherWay: z.GetOtherWay()}
		}),
	}
}

func toTrend(t *tailboundv1.Trend) *comparison.Trend {
	if t == nil {
		return nil
	}
	return &comparison.Trend{
		Ratio: toEstimate(t.GetRatio()), PerYear: t.GetStep() == tailboundv1.TrendStep_TREND_STEP_YEAR, Test: toTest(t.GetTest()),
	}
}
