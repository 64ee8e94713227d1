package rpc

import (
	"context"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

type comparisonService struct {
	tailboundv1.UnimplementedComparisonServiceServer
	*Server
}

// CompareCampaigns assesses each campaign and compares every pair.
func (s comparisonService) CompareCampaigns(ctx context.Context, r *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := request.CheckCampaigns(r, s.options.MaxReadings); err != nil {
		return nil, err
	}
	a, err := s.compare(wire.ToCampaigns(r))
	if err != nil {
		return nil, err
	}
	return wire.FromComparison(a), nil
}
