package wire

import (
	"math"
	"strings"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/variance"
)

// ToPartitioning turns a request into a group, what to divide it by, and the options that count.
func ToPartitioning(r *tailboundv1.PartitionGroupRequest) (reading.Group, string, assess.Options) {
	g, o := ToGroup(&tailboundv1.AssessGroupRequest{
		Name: r.GetName(), Agent: r.GetAgent(), Unit: r.GetUnit(), Limit: r.GetLimit(), Readings: r.GetReadings(),
		Percentile: r.Percentile, Confidence: r.Confidence, AcceptDependent: r.GetAcceptDependent(),
	})
	if r.GetBy() == tailboundv1.PartitionBy_PARTITION_BY_SUBJECT {
		return g, assess.BySubject, o
	}
	return g, assess.ByZone, o
}

// FromPartition turns the answer into that of the contract. What is not finite is left out.
func FromPartition(a *report.Partition) *tailboundv1.PartitionGroupResponse {
	r := &tailboundv1.PartitionGroupResponse{
		Name: a.Name, Agent: a.Agent, Unit: string(a.Unit), Readings: count(a.Readings), Censored: count(a.Censored),
		By:              tailboundv1.PartitionBy_PARTITION_BY_ZONE,
		Between:         &tailboundv1.VarianceComponent{Sigma: fromSpread(a.Between), MaximumLikelihood: optional(a.Likelihood.Between)},
		Within:          &tailboundv1.VarianceComponent{Sigma: fromSpread(a.Within), MaximumLikelihood: optional(a.Likelihood.Within)},
		BetweenShare:    fromSpread(a.Share),
		PercentileRatio: fromSpread(a.Ratio),
		FTest: &tailboundv1.FTest{
			Statistic: optional(a.Test.Statistic), PValue: optional(a.Test.PValue),
			FreedomBetween: optional(a.Test.Between), FreedomWithin: optional(a.Test.Within),
		},
		Zones: each(a.Zones, fromZone),
		Pooling: &tailboundv1.Pooling{
			Pool: a.Pooling.Pool, Settled: a.Pooling.Settled, Reason: strings.Join(a.Pooling.Reasons, " "),
		},
		Notes: each(a.Notes, fromNote), Methods: each(a.Methods, fromMethod), Caution: a.Caution,
	}
	if a.By == assess.BySubject {
		r.By = tailboundv1.PartitionBy_PARTITION_BY_SUBJECT
	}
	if a.Limit != nil {
		r.Limit = &tailboundv1.Limit{Value: a.Limit.Value, Unit: string(a.Limit.Unit)}
	}
	if a.Chance != nil {
		r.ChanceAboveLimit = fromSpread(*a.Chance)
	}
	if a.Anova != nil {
		r.Between.AnalysisOfVariance, r.Within.AnalysisOfVariance = optional(a.Anova.SigmaBetween), optional(a.Anova.SigmaWithin)
	}
	r.Split = fromSplit(a.Split)
	return r
}

func fromSpread(b variance.Bounds) *tailboundv1.Estimate {
	return &tailboundv1.Estimate{Estimate: optional(b.Estimate), Lower: optional(b.Lower), Upper: optional(b.Upper)}
}

func fromZone(z *variance.Zone, p *tailboundv1.ZoneEstimate) {
	p.Zone, p.Readings, p.Censored, p.Outsider = z.Name, count(z.Readings), count(z.Censored), z.Outside
	p.GeometricMean, p.ShrunkenGeometricMean = optional(z.GeometricMean), optional(z.Shrunken)
	p.Percentile, p.Deviance, p.PValue = optional(z.Percentile), optional(z.Deviance), optional(z.PValue)
}

func fromSplit(s *variance.Split) *tailboundv1.Split {
	if s == nil || !finite(s.Advantage) {
		return nil
	}
	return &tailboundv1.Split{Advantage: s.Advantage, Reason: s.Reason, Groups: each(s.Groups, fromSplitGroup)}
}

func fromSplitGroup(g *variance.SplitGroup, p *tailboundv1.SplitGroup) {
	p.Zones, p.Readings, p.GeometricMean = g.Zones, count(g.Readings), optional(g.GeometricMean)
}

// ToPartition turns an answer back, for a client that prints it.
func ToPartition(r *tailboundv1.PartitionGroupResponse) *report.Partition {
	a := &report.Partition{
		Name: r.GetName(), Agent: r.GetAgent(), Unit: reading.Unit(r.GetUnit()), By: assess.ByZone,
		Notes: list(r.GetNotes(), toNote), Methods: list(r.GetMethods(), toMethod), Caution: r.GetCaution(),
	}
	if r.GetBy() == tailboundv1.PartitionBy_PARTITION_BY_SUBJECT {
		a.By = assess.BySubject
	}
	if l := r.GetLimit(); l != nil {
		a.Limit = &reading.Limit{Value: l.GetValue(), Unit: reading.Unit(l.GetUnit())}
	}
	a.Readings, a.Censored = int(r.GetReadings()), int(r.GetCensored())
	a.Between, a.Within = toSpread(r.GetBetween().GetSigma()), toSpread(r.GetWithin().GetSigma())
	a.Share, a.Ratio = toSpread(r.GetBetweenShare()), toSpread(r.GetPercentileRatio())
	a.Likelihood.Between, a.Likelihood.Within = r.GetBetween().GetMaximumLikelihood(), r.GetWithin().GetMaximumLikelihood()
	if e := r.GetChanceAboveLimit(); e != nil {
		chance := toSpread(e)
		a.Chance = &chance
	}
	a.Test = variance.FTest{Statistic: math.NaN(), PValue: math.NaN(), Between: math.NaN(), Within: math.NaN()}
	if t := r.GetFTest(); t != nil {
		a.Test = variance.FTest{
			Statistic: orNaN(t.Statistic), PValue: orNaN(t.PValue), Between: orNaN(t.FreedomBetween), Within: orNaN(t.FreedomWithin),
		}
	}
	a.Zones = list(r.GetZones(), toZone)
	a.Pooling = variance.Pooling{Pool: r.GetPooling().GetPool(), Settled: r.GetPooling().GetSettled(), Reasons: []string{r.GetPooling().GetReason()}}
	a.Split = toSplit(r.GetSplit())
	return a
}

func toSpread(e *tailboundv1.Estimate) variance.Bounds {
	b := toEstimate(e)
	return variance.Bounds{Estimate: b.Estimate, Lower: b.Lower, Upper: b.Upper}
}

func toZone(z *tailboundv1.ZoneEstimate) variance.Zone {
	return variance.Zone{
		Name: z.GetZone(), Readings: int(z.GetReadings()), Censored: int(z.GetCensored()), GeometricMean: orNaN(z.GeometricMean),
		Shrunken: orNaN(z.ShrunkenGeometricMean), Percentile: orNaN(z.Percentile), Deviance: orNaN(z.Deviance), PValue: orNaN(z.PValue),
		Outside: z.GetOutsider(),
	}
}

func toSplit(s *tailboundv1.Split) *variance.Split {
	if s == nil {
		return nil
	}
	return &variance.Split{Advantage: s.GetAdvantage(), Reason: s.GetReason(), Groups: list(s.GetGroups(), func(g *tailboundv1.SplitGroup) variance.SplitGroup {
		return variance.SplitGroup{Zones: g.GetZones(), Readings: int(g.GetReadings()), GeometricMean: orNaN(g.GeometricMean)}
	})}
}
