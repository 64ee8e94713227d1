package rpc

import (
	"context"
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/planning"
)

type planningService struct {
	tailboundv1.UnimplementedPlanningServiceServer
	*Server
}

// PlanSampling says how many samples would settle a question.
func (s planningService) PlanSampling(ctx context.Context, r *tailboundv1.PlanSamplingRequest) (*tailboundv1.PlanSamplingResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := s.checkPlan(r); err != nil {
		return nil, err
	}
	p, err := s.plan(questionFromProto(r))
	if err != nil {
		return nil, err
	}
	return PlanToProto(p), nil
}

// checkPlan checks what package planning does not: readings, units, and that something is asked.
func (s *Server) checkPlan(r *tailboundv1.PlanSamplingRequest) error {
	if len(r.GetReadings()) > 0 {
		if err := s.checkGroup(&tailboundv1.AssessGroupRequest{Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit()}); err != nil {
			return err
		}
	}
	var v violations
	v.limit(r.GetLimit())
	v.text("unit", r.GetUnit(), longestUnit)
	v.within("power", r.Power, 0, 1)
	if _, known := tailboundv1.Rule_name[int32(r.GetRule())]; !known {
		v.add("rule", "is "+strconv.Itoa(int(r.GetRule()))+", which is no rule of this contract")
	} else if rule := ruleFromProto(r.GetRule()); rule != 0 && !planning.Supported(rule) {
		v.add("rule", "is "+r.GetRule().String()+", which has no number of samples to plan")
	}
	if _, known := tailboundv1.PlanAim_name[int32(r.GetAim())]; !known {
		v.add("aim", "is "+strconv.Itoa(int(r.GetAim()))+", which is no aim of this contract")
	}
	v.assumed(r)
	if g := r.GetGrid(); g != nil && len(g.GetPercentileToLimit())*len(g.GetGeometricStandardDeviation()) == 0 {
		v.add("grid", "is empty; at least one percentileToLimit and one geometricStandardDeviation are required")
	}
	if r.GeometricMean == nil && len(r.GetReadings()) == 0 && r.GetHighest() == nil && r.GetGrid() == nil {
		v.add("", "asks nothing; accepted are geometricMean with geometricStandardDeviation, grid, readings, and highest")
	}
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
}

// assumed wants both numbers of an assumed exposure or none.
func (v *violations) assumed(r *tailboundv1.PlanSamplingRequest) {
	switch {
	case r.GeometricMean == nil && r.GeometricStandardDeviation != nil:
		v.add("geometricMean", "is missing beside geometricStandardDeviation")
	case r.GeometricMean != nil && r.GeometricStandardDeviation == nil:
		v.add("geometricStandardDeviation", "is missing beside geometricMean")
	}
}
