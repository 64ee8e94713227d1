package rpc

import (
	"context"
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

// PartitionGroup splits the variance of one group.
func (s assessmentService) PartitionGroup(ctx context.Context, r *tailboundv1.PartitionGroupRequest) (*tailboundv1.PartitionGroupResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := s.checkPartition(r); err != nil {
		return nil, err
	}
	a, err := s.partition(partitionFromProto(r))
	if err != nil {
		return nil, err
	}
	return PartitionToProto(a), nil
}

// checkPartition checks what a partition shares with an assessment, and that every reading names what it is divided by.
func (s *Server) checkPartition(r *tailboundv1.PartitionGroupRequest) error {
	if err := s.checkGroup(&tailboundv1.AssessGroupRequest{
		Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit(), Name: r.GetName(), Agent: r.GetAgent(),
		Percentile: r.Percentile, Confidence: r.Confidence,
	}); err != nil {
		return err
	}
	var v violations
	if _, known := tailboundv1.PartitionBy_name[int32(r.GetBy())]; !known {
		v.add("by", "is "+strconv.Itoa(int(r.GetBy()))+", which is nothing that this contract divides by")
	}
	field, name := "zone", (*tailboundv1.Reading).GetZone
	if r.GetBy() == tailboundv1.PartitionBy_PARTITION_BY_SUBJECT {
		field, name = "subject", (*tailboundv1.Reading).GetSubject
	}
	for i, reading := range r.GetReadings() {
		if name(reading) == "" {
			v.add("readings["+strconv.Itoa(i)+"]."+field, "is empty; each reading names its "+field)
		}
	}
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
}
