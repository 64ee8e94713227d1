package rpc

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/internal/messages"
)

// shiftOfMinutes are readings of one shift that rise and fall slowly.
func shiftOfMinutes() []*tailboundv1.Reading {
	out := make([]*tailboundv1.Reading, 120)
	for i := range out {
		out[i] = messages.Value(10 * math.Exp(math.Sin(float64(i)/20)))
		out[i].Zone, out[i].Duration = "press", durationpb.New(time.Minute)
		out[i].Start = timestamppb.New(time.Date(2026, 3, 9, 7, i, 0, 0, time.UTC))
	}
	return out
}

// A refusal carries the field and what to do, over every way of asking, and is lifted by one field of the request.
func TestDependentReadings(t *testing.T) {
	t.Parallel()
	s := New(Options{})
	limit := &tailboundv1.Limit{Value: 100}
	for name, ask := range map[string]func(accept bool) error{
		"readings": func(accept bool) error {
			_, err := assessmentService{Server: s}.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{
				Readings: shiftOfMinutes(), Unit: "ppm", Limit: limit, AcceptDependent: accept,
			})
			return err
		},
		"campaigns[0].readings": func(accept bool) error {
			later := []*tailboundv1.Reading{messages.Value(3), messages.Value(5), messages.Value(9)}
			_, err := comparisonService{Server: s}.CompareCampaigns(t.Context(), &tailboundv1.CompareCampaignsRequest{
				Campaigns: []*tailboundv1.Campaign{{Name: "a", Readings: shiftOfMinutes()}, {Name: "b", Readings: later}}, Unit: "ppm", AcceptDependent: accept,
			})
			return err
		},
	} {
		refused := toStatus(ask(false))
		require.Equal(t, codes.FailedPrecondition, refused.Code(), name)
		require.Equal(t, name, violationOf(t, refused).GetField())
		require.Contains(t, violationOf(t, refused).GetDescription(), "acceptDependent")
		require.NoError(t, ask(true), name)
	}
}

func violationOf(t *testing.T, s *status.Status) *errdetails.BadRequest_FieldViolation {
	t.Helper()
	require.Len(t, s.Details(), 1)
	request, ok := s.Details()[0].(*errdetails.BadRequest)
	require.True(t, ok)
	require.Len(t, request.GetFieldViolations(), 1)
	return request.GetFieldViolations()[0]
}
