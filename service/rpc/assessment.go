package rpc

import (
	"context"
	"fmt"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

type assessmentService struct {
	tailboundv1.UnimplementedAssessmentServiceServer
	*Server
}

// AssessGroup assesses one group.
func (s assessmentService) AssessGroup(ctx context.Context, r *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
	// A call that waited past its deadline is not worth computing.
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return s.answer(r)
}

// answer checks one request and assesses it. The error is a fault.
func (s *Server) answer(r *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
	if err := request.CheckGroup(r, s.options.MaxReadings); err != nil {
		return nil, err
	}
	a, err := s.assess(wire.ToGroup(r))
	if err != nil {
		return nil, err
	}
	return wire.FromAssessment(a), nil
}

// answerSafely is answer for one group of many: a panic costs that group alone.
func (s *Server) answerSafely(r *tailboundv1.AssessGroupRequest) (response *tailboundv1.AssessGroupResponse, err error) {
	defer func() {
		if p := recover(); p != nil {
			response, err = nil, fault.Wrap(fmt.Errorf("panic: %v", p), "assessing a group panicked")
		}
	}()
	return s.answer(r)
}
