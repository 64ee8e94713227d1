package wire

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Defaults of a plan, as the contract states them.
const (
	planLower, planUpper = 3, 60
	planPower            = 0.8
	highestFraction      = 0.1
	highestChance        = 0.9
)

// ToQuestion turns a request that has passed its check into a question.
func ToQuestion(r *tailboundv1.PlanSamplingRequest) assess.Question {
	q := assess.Question{
		Rule:    ToRule(r.GetRule()),
		SoFar:   reading.Group{Unit: reading.Unit(r.GetUnit()), Readings: toReadings(r.GetReadings())},
		Samples: planning.Range{Lower: planLower, Upper: planUpper},
		Want:    planning.Want{Chance: planPower}, AcceptDependent: r.GetAcceptDependent(),
	}
	if l := r.GetLimit(); l != nil {
		q.SoFar.Limit = &reading.Limit{Value: l.GetValue(), Unit: reading.Unit(l.GetUnit())}
	}
	if r.GeometricMean != nil {
		q.Assumed = &assess.Exposure{GeometricMean: r.GetGeometricMean(), GeometricStandardDeviation: r.GetGeometricStandardDeviation()}
	}
	if r.SamplesLower != nil {
		q.Samples.Lower = int(r.GetSamplesLower())
	}
	if r.SamplesUpper != nil {
		q.Samples.Upper = int(r.GetSamplesUpper())
	}
	if r.Power != nil {
		q.Want.Chance = r.GetPower()
	}
	switch r.GetAim() {
	case tailboundv1.PlanAim_PLAN_AIM_COMPLIANT:
		q.Want.Aim = planning.Comply
	case tailboundv1.PlanAim_PLAN_AIM_NOT_COMPLIANT:
		q.Want.Aim = planning.Refuse
	default:
	}
	if g := r.GetGrid(); g != nil {
		q.Grid = &planning.Grid{
			PercentileToLimit: g.GetPercentileToLimit(), GeometricStandardDeviation: g.GetGeometricStandardDeviation(),
		}
	}
	if h := r.GetHighest(); h != nil {
		q.Highest = &assess.Highest{GroupSize: int(h.GetGroupSize()), Fraction: highestFraction, Confidence: highestChance}
		if h.Fraction != nil {
			q.Highest.Fraction = h.GetFraction()
		}
		if h.Confidence != nil {
			q.Highest.Confidence = h.GetConfidence()
		}
	}
	return q
}

// FromPlan turns a plan into the answer of the contract.
func FromPlan(p *report.Plan) *tailboundv1.PlanSamplingResponse {
	r := &tailboundv1.PlanSamplingResponse{
		Plans: each(p.Rows, fromPlanRow), SamplesNeeded: number32(p.Needed.Samples), SamplesLasting: number32(p.Needed.Lasting),
		Curves: each(p.Curves, fromCurve), Methods: each(p.Methods, fromMethod), Caution: p.Caution,
		Notes: each(p.Notes, fromNote),
	}
	if s := p.Prospect; s != nil {
		r.Prospect = &tailboundv1.Prospect{
			Plans: each(s.Rows, fromPlanRow), SamplesNeeded: number32(s.Needed.Samples), Text: s.Text, Approximate: s.Approximate,
			Eventually: &tailboundv1.PlannedSampling{},
		}
		fromPlanRow(&planning.Row{Chances: s.Eventually}, r.GetProspect().GetEventually())
	}
	if h := p.Highest; h != nil {
		r.Highest = &tailboundv1.HighestSampled{Samples: count(h.Samples), Among: count(h.Among), Chance: h.Chance}
	}
	return r
}

func fromPlanRow(row *planning.Row, p *tailboundv1.PlannedSampling) {
	p.Samples, p.Compliant, p.NotCompliant, p.Undecided = count(row.Samples), row.Compliant, row.NotCompliant, row.Undecided
}

func fromCurve(c *planning.Curve, p *tailboundv1.PlanCurve) {
	p.PercentileToLimit, p.GeometricStandardDeviation = c.PercentileToLimit, c.GeometricStandardDeviation
	p.Plans, p.SamplesNeeded = each(c.Rows, fromPlanRow), number32(c.Needed.Samples)
}

// ToPlan turns an answer back, for a client that prints it beside what it asked.
func ToPlan(asked *tailboundv1.PlanSamplingRequest, r *tailboundv1.PlanSamplingResponse) *report.Plan {
	q := ToQuestion(asked)
	p := &report.Plan{
		Rule: max(q.Rule, 1), Want: q.Want, Rows: list(r.GetPlans(), toPlanRow),
		Notes: list(r.GetNotes(), toNote), Methods: list(r.GetMethods(), toMethod), Caution: r.GetCaution(),
	}
	p.Needed = planning.Smallest(p.Rows, q.Want.Aim, q.Want.Chance)
	if q.SoFar.Limit != nil {
		p.Limit = *q.SoFar.Limit
	}
	for _, c := range r.GetCurves() {
		rows := list(c.GetPlans(), toPlanRow)
		p.Curves = append(p.Curves, planning.Curve{
			PercentileToLimit: c.GetPercentileToLimit(), GeometricStandardDeviation: c.GetGeometricStandardDeviation(),
			Rows: rows, Needed: planning.Smallest(rows, q.Want.Aim, q.Want.Chance),
		})
	}
	if s := r.GetProspect(); s != nil {
		p.Prospect = &planning.Prospect{
			Rows: list(s.GetPlans(), toPlanRow), Text: s.GetText(), Approximate: s.GetApproximate(),
			Eventually: toPlanRow(s.GetEventually()).Chances,
		}
		p.Prospect.Needed = planning.Smallest(p.Prospect.Rows, q.Want.Aim, q.Want.Chance)
	}
	if h := r.GetHighest(); h != nil && q.Highest != nil {
		p.Highest = &planning.Highest{Samples: int(h.GetSamples()), Among: int(h.GetAmong()), Chance: h.GetChance()}
		p.HighestAsked = report.HighestAsked{
			GroupSize: q.Highest.GroupSize, Fraction: q.Highest.Fraction, Confidence: q.Highest.Confidence,
		}
	}
	return p
}

func toPlanRow(p *tailboundv1.PlannedSampling) planning.Row {
	return planning.Row{Samples: int(p.GetSamples()), Chances: planning.Chances{
		Compliant: p.GetCompliant(), NotCompliant: p.GetNotCompliant(), Undecided: p.GetUndecided(),
	}}
}
