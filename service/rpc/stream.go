package rpc

import (
	"context"
	"errors"
	"io"
	"log/slog"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

// AssessGroups answers each group of a stream in turn. A group that cannot be assessed is answered with its own error and
// the stream goes on. One group is held at a time, and flow control keeps the rest with the caller.
func (s assessmentService) AssessGroups(stream grpc.BidiStreamingServer[tailboundv1.AssessGroupsRequest, tailboundv1.AssessGroupsResponse]) error {
	for index := int32(0); ; index++ {
		r, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := stream.Send(s.answerOne(stream.Context(), index, r)); err != nil {
			return err
		}
	}
}

// answerOne never fails: what is wrong with a group is its answer.
func (s *Server) answerOne(ctx context.Context, index int32, r *tailboundv1.AssessGroupsRequest) *tailboundv1.AssessGroupsResponse {
	response, err := s.answerMember(r)
	if err == nil {
		return &tailboundv1.AssessGroupsResponse{Index: &index, Answer: &tailboundv1.AssessGroupsResponse_Result{Result: response}}
	}
	if fault.CodeOf(err) == fault.Internal {
		s.log.LogAttrs(ctx, slog.LevelError, "group failed", slog.String("request_id", RequestID(ctx)), slog.Int("index", int(index)), causeAttr(err))
	}
	return &tailboundv1.AssessGroupsResponse{Index: &index, Answer: &tailboundv1.AssessGroupsResponse_Error{Error: errorStatus(toStatus(err))}}
}

func (s *Server) answerMember(r *tailboundv1.AssessGroupsRequest) (*tailboundv1.AssessGroupResponse, error) {
	if r.GetGroup() == nil {
		return nil, fault.Invalid("group", "is missing; each message of the stream carries one group")
	}
	return s.answerSafely(r.GetGroup())
}
