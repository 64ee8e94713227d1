package rpc

import (
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// comparisonFromRequest turns a request into a name, the campaigns, the reduction asked about and the options that count.
func comparisonFromRequest(r *tailboundv1.CompareCampaignsRequest) (string, []reading.Group, float64, assess.Options) {
	groups := make([]reading.Group, len(r.GetCampaigns()))
	for i, c := range r.GetCampaigns() {
		groups[i], _ = GroupFromProto(&tailboundv1.AssessGroupRequest{
			Name: c.GetName(), Agent: r.GetAgent(), Unit: r.GetUnit(), Limit: r.GetLimit(), Readings: c.GetReadings(),
		})
	}
	return r.GetName(), groups, r.GetReduction(), assess.Options{
		Percentile: r.GetPercentile(), Confidence: r.GetConfidence(), AcceptDependent: r.GetAcceptDependent(),
	}
}

// ComparisonToProto turns the answer into that of the contract. What is not finite is left out.
func ComparisonToProto(c *report.Comparison) *tailboundv1.CompareCampaignsResponse {
	r := &tailboundv1.CompareCampaignsResponse{
		Name: c.Name, Agent: c.Agent, Percentile: c.Percentile, Confidence: c.Confidence, Comparisons: each(c.Pairs, pairToProto),
		Notes: each(c.Notes, noteToProto), Methods: each(c.Methods, methodToProto), Caution: c.Caution, Trend: trendToProto(c.Trend),
	}
	if c.Reduction > 0 {
		r.Reduction = &c.Reduction
	}
	for _, a := range c.Campaigns {
		r.Campaigns = append(r.Campaigns, AssessmentToProto(a))
	}
	return r
}

func pairToProto(v *comparison.Pair, p *tailboundv1.Comparison) {
	p.From, p.To, p.Conclusion = v.From, v.To, v.Conclusion
	p.GeometricMeanRatio, p.LogStandardDeviationRatio = boundsToProto(v.GeometricMean), boundsToProto(v.LogSpread)
	p.PercentileRatio, p.ArithmeticMeanRatio = boundsToProto(v.Percentile), boundsToProto(v.ArithmeticMean)
	p.SeparateSpreadRatio = boundsToProto(v.Separate)
	p.ProbabilityLower, p.ProbabilityLowerByReduction = optional(v.Lower), optional(v.LowerByReduction)
	p.ClaimableReduction, p.PValue, p.AdjustedPValue = optional(v.Claim), optional(v.Means.PValue), optional(v.PAdjusted)
	if v.Exceedance != nil {
		p.ExceedanceDifference = boundsToProto(*v.Exceedance)
	}
	p.MeanTest, p.SpreadTest, p.RobustSpreadTest = testToProto(&v.Means), testToProto(&v.Spreads), testToProto(&v.Equal)
	p.RankTest, p.LogRankTest = testToProto(&v.Wilcoxon), testToProto(&v.LogRank)
	if c := v.Common; c != nil && finite(c.Coefficient, c.StandardError, c.Sigma) {
		p.CommonSpread = &tailboundv1.CommonSpread{LogRatio: c.Coefficient, StandardError: c.StandardError, Sigma: c.Sigma}
	}
	p.WithinZones = withinToProto(v.Within)
	if v.Further > 0 {
		further := count(v.Further)
		p.FurtherReadings = &further
	}
}

// boundsToProto is nil when nothing is determined.
func boundsToProto(b limit.Bounds) *tailboundv1.Estimate {
	e := &tailboundv1.Estimate{Estimate: optional(b.Estimate), Lower: optional(b.Lower), Upper: optional(b.Upper)}
	if e.Estimate == nil && e.Lower == nil && e.Upper == nil {
		return nil
	}
	return e
}

func testToProto(t *comparison.Test) *tailboundv1.ComparisonTest {
	if !finite(t.Statistic, t.PValue) || !finite(t.Freedom...) {
		return nil
	}
	return &tailboundv1.ComparisonTest{Test: t.Name, Statistic: t.Statistic, DegreesOfFreedom: t.Freedom, PValue: t.PValue}
}

func withinToProto(w *comparison.Within) *tailboundv1.WithinZones {
	if w == nil {
		return nil
	}
	return &tailboundv1.WithinZones{
		GeometricMeanRatio: boundsToProto(w.Ratio), Test: testToProto(&w.Test), Zones: each(w.Zones, zoneChangeToProto),
	}
}

func zoneChangeToProto(z *comparison.ZoneChange, p *tailboundv1.ZoneChange) {
	p.Zone, p.GeometricMeanRatio, p.OtherWay = z.Zone, boundsToProto(z.Ratio), z.OtherWay
}

func trendToProto(t *comparison.Trend) *tailboundv1.Trend {
	if t == nil {
		return nil
	}
	step := tailboundv1.TrendStep_TREND_STEP_CAMPAIGN
	if t.PerYear {
		step = tailboundv1.TrendStep_TREND_STEP_YEAR
	}
	return &tailboundv1.Trend{Ratio: boundsToProto(t.Ratio), Step: step, Test: testToProto(&t.Test)}
}

// ComparisonFromProto turns an answer back, for a client that prints it.
func ComparisonFromProto(r *tailboundv1.CompareCampaignsResponse) *report.Comparison {
	return &report.Comparison{
		Name: r.GetName(), Agent: r.GetAgent(), Percentile: r.GetPercentile(), Confidence: r.GetConfidence(), Reduction: r.GetReduction(),
		Campaigns: list(r.GetCampaigns(), AssessmentFromProto), Pairs: list(r.GetComparisons(), pairFromProto),
		Trend: trendFromProto(r.GetTrend()), Notes: list(r.GetNotes(), noteFromProto), Methods: list(r.GetMethods(), methodFromProto),
		Caution: r.GetCaution(),
	}
}

func pairFromProto(p *tailboundv1.Comparison) comparison.Pair {
	v := comparison.Pair{
		From: p.GetFrom(), To: p.GetTo(), Conclusion: p.GetConclusion(), Further: int(p.GetFurtherReadings()),
		GeometricMean: estimateFromProto(p.GetGeometricMeanRatio()), LogSpread: estimateFromProto(p.GetLogStandardDeviationRatio()),
		Percentile: estimateFromProto(p.GetPercentileRatio()), ArithmeticMean: estimateFromProto(p.GetArithmeticMeanRatio()),
		Separate: estimateFromProto(p.GetSeparateSpreadRatio()),
		Lower:    orNaN(p.ProbabilityLower), LowerByReduction: orNaN(p.ProbabilityLowerByReduction),
		Claim: orNaN(p.ClaimableReduction), PAdjusted: orNaN(p.AdjustedPValue),
		Means: testFromProto(p.GetMeanTest()), Spreads: testFromProto(p.GetSpreadTest()), Equal: testFromProto(p.GetRobustSpreadTest()),
		Wilcoxon: testFromProto(p.GetRankTest()), LogRank: testFromProto(p.GetLogRankTest()), Within: withinFromProto(p.GetWithinZones()),
	}
	if e := p.GetExceedanceDifference(); e != nil {
		b := estimateFromProto(e)
		v.Exceedance = &b
	}
	if c := p.GetCommonSpread(); c != nil {
		v.Common = &comparison.Common{Coefficient: c.GetLogRatio(), StandardError: c.GetStandardError(), Sigma: c.GetSigma()}
	}
	return v
}

func testFromProto(t *tailboundv1.ComparisonTest) comparison.Test {
	if t == nil {
		return comparison.Test{Statistic: math.NaN(), PValue: math.NaN()}
	}
	return comparison.Test{Name: t.GetTest(), Statistic: t.GetStatistic(), Freedom: t.GetDegreesOfFreedom(), PValue: t.GetPValue()}
}

func withinFromProto(w *tailboundv1.WithinZones) *comparison.Within {
	if w == nil {
		return nil
	}
	return &comparison.Within{
		Ratio: estimateFromProto(w.GetGeometricMeanRatio()), Test: testFromProto(w.GetTest()),
		Zones: list(w.GetZones(), func(z *tailboundv1.ZoneChange) comparison.ZoneChange {
			return comparison.ZoneChange{Zone: z.GetZone(), Ratio: estimateFromProto(z.GetGeometricMeanRatio()), OtherWay: z.GetOtherWay()}
		}),
	}
}

func trendFromProto(t *tailboundv1.Trend) *comparison.Trend {
	if t == nil {
		return nil
	}
	return &comparison.Trend{
		Ratio: estimateFromProto(t.GetRatio()), PerYear: t.GetStep() == tailboundv1.TrendStep_TREND_STEP_YEAR, Test: testFromProto(t.GetTest()),
	}
}
