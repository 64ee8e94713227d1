package rpc

import (
	"context"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

// PartitionGroup splits the variance of one group.
func (s assessmentService) PartitionGroup(ctx context.Context, r *tailboundv1.PartitionGroupRequest) (*tailboundv1.PartitionGroupResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := request.CheckPartition(r, s.options.MaxReadings); err != nil {
		return nil, err
	}
	a, err := s.partition(wire.ToPartitioning(r))
	if err != nil {
		return nil, err
	}
	return wire.FromPartition(a), nil
}
