package rpc

import (
	"context"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

// The calls below are part of the contract, so that clients can be written against it, but have no stage behind them yet.

type comparisonService struct {
	tailboundv1.UnimplementedComparisonServiceServer
}

// CompareCampaigns is refused.
func (comparisonService) CompareCampaigns(context.Context, *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	return nil, fault.Unimplemented("comparing campaigns is part of the contract, but this version of the service does not do it yet")
}
