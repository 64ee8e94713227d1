package client_test

import (
	"context"
	"errors"
	"io"
	"net"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// fake is a server whose calls a test writes itself, for what a sound server never does: fail, answer short, hang. A call
// that is not set is answered with UNIMPLEMENTED.
type fake struct {
	tailboundv1.UnimplementedAssessmentServiceServer
	tailboundv1.UnimplementedComparisonServiceServer
	tailboundv1.UnimplementedPlanningServiceServer
	tailboundv1.UnimplementedTraceServiceServer
	tailboundv1.UnimplementedIntakeServiceServer
	tailboundv1.UnimplementedReportServiceServer

	assess  func(context.Context, *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error)
	batch   func(groupsStream) error
	compare func(*tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error)
	reduce  func(traceStream) error
	render  func(*tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error)
}

type (
	groupsStream = grpc.BidiStreamingServer[tailboundv1.AssessGroupsRequest, tailboundv1.AssessGroupsResponse]
	traceStream  = grpc.ClientStreamingServer[tailboundv1.ReduceTraceRequest, tailboundv1.ReduceTraceResponse]
)

func (f *fake) AssessGroup(ctx context.Context, request *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
	return f.assess(ctx, request)
}

func (f *fake) AssessGroups(stream groupsStream) error { return f.batch(stream) }

func (f *fake) PartitionGroup(_ context.Context, request *tailboundv1.PartitionGroupRequest) (*tailboundv1.PartitionGroupResponse, error) {
	return &tailboundv1.PartitionGroupResponse{Name: request.GetName()}, nil
}

func (f *fake) CompareCampaigns(_ context.Context, request *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	return f.compare(request)
}

func (f *fake) PlanSampling(context.Context, *tailboundv1.PlanSamplingRequest) (*tailboundv1.PlanSamplingResponse, error) {
	return &tailboundv1.PlanSamplingResponse{SamplesNeeded: proto.Int32(6)}, nil
}

func (f *fake) ReadResults(_ context.Context, request *tailboundv1.ReadResultsRequest) (*tailboundv1.ReadResultsResponse, error) {
	// What was read takes a multiple of the file.
	return &tailboundv1.ReadResultsResponse{
		Header: []string{request.GetName()}, Guesses: []string{string(make([]byte, 2*len(request.GetContent())))},
	}, nil
}

func (f *fake) ReadLog(_ context.Context, request *tailboundv1.ReadLogRequest) (*tailboundv1.ReadLogResponse, error) {
	return &tailboundv1.ReadLogResponse{Header: []string{request.GetName()}}, nil
}

func (f *fake) EstimateAirChange(_ context.Context, request *tailboundv1.EstimateAirChangeRequest) (*tailboundv1.EstimateAirChangeResponse, error) {
	if len(request.GetValues()) == 0 {
		return nil, refused().Err()
	}
	return &tailboundv1.EstimateAirChangeResponse{Zone: request.GetZone()}, nil
}

func (f *fake) ReduceTrace(stream traceStream) error { return f.reduce(stream) }

func (f *fake) RenderReport(_ context.Context, request *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
	return f.render(request)
}

// start serves f over memory until the test ends and returns a client of it, made as a user would make it.
func start(tb testing.TB, f *fake, options ...client.Option) *client.Client {
	tb.Helper()
	listener := bufconn.Listen(1 << 20)
	serve(tb, f, listener)
	dialer := grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) })
	c, err := client.Dial("passthrough:///memory", append(options, client.Plaintext(), client.WithDialOptions(dialer))...)
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, c.Close()) })
	return c
}

func serve(tb testing.TB, f *fake, listener net.Listener, options ...grpc.ServerOption) {
	tb.Helper()
	server := grpc.NewServer(append(options, grpc.MaxRecvMsgSize(client.DefaultMessageBytes))...)
	tailboundv1.RegisterAssessmentServiceServer(server, f)
	tailboundv1.RegisterComparisonServiceServer(server, f)
	tailboundv1.RegisterPlanningServiceServer(server, f)
	tailboundv1.RegisterTraceServiceServer(server, f)
	tailboundv1.RegisterIntakeServiceServer(server, f)
	tailboundv1.RegisterReportServiceServer(server, f)
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	tb.Cleanup(func() {
		server.Stop()
		require.NoError(tb, <-done)
	})
}

// echo answers every group with its own name; a group named "bad" with an error.
func echo(stream groupsStream) error {
	for index := int32(0); ; index++ {
		request, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := stream.Send(echoed(index, request.GetGroup().GetName())); err != nil {
			return err
		}
	}
}

func echoed(index int32, name string) *tailboundv1.AssessGroupsResponse {
	if name == "bad" {
		return &tailboundv1.AssessGroupsResponse{Index: &index, Answer: &tailboundv1.AssessGroupsResponse_Error{Error: refusedInside()}}
	}
	result := &tailboundv1.AssessGroupResponse{Name: name}
	return &tailboundv1.AssessGroupsResponse{Index: &index, Answer: &tailboundv1.AssessGroupsResponse_Result{Result: result}}
}

const refusal = "unit: want a unit, such as mg/m3; readings[3].value: got -1, want a number greater than 0"

var violations = []*errdetails.BadRequest_FieldViolation{
	{Field: "unit", Description: "want a unit, such as mg/m3"},
	{Field: "readings[3].value", Description: "got -1, want a number greater than 0"},
}

// refused is the status of a bad group.
func refused() *status.Status {
	s, err := status.New(codes.InvalidArgument, refusal).WithDetails(&errdetails.BadRequest{FieldViolations: violations})
	if err != nil {
		return status.New(codes.Internal, err.Error())
	}
	return s
}

// refusedInside is the same inside an answer that goes on.
func refusedInside() *tailboundv1.ErrorStatus {
	s := refused().Proto()
	return &tailboundv1.ErrorStatus{Code: s.GetCode(), Message: s.GetMessage(), Details: s.GetDetails()}
}
