package rpc

import (
	"context"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
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
	if err := request.CheckPlan(r, s.options.MaxReadings); err != nil {
		return nil, err
	}
	p, err := s.plan(wire.ToQuestion(r))
	if err != nil {
		return nil, err
	}
	return wire.FromPlan(p), nil
}
