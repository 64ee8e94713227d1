package rpc

import (
	"context"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

// EstimateAirChange finds the air-change rate of a room from the decay of a tracer.
func (s traceService) EstimateAirChange(ctx context.Context, r *tailboundv1.EstimateAirChangeRequest) (*tailboundv1.EstimateAirChangeResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := request.CheckDecay(r, s.options.MaxReadings); err != nil {
		return nil, err
	}
	a, err := assess.AirChange(wire.ToDecay(r))
	if err != nil {
		return nil, err
	}
	return wire.FromAirChange(a), nil
}
