package client

import (
	"context"
	"errors"
	"fmt"
	"io"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// Client calls one Tailbound server. It is safe for concurrent use and meant to be kept and shared.
type Client struct {
	assessment tailboundv1.AssessmentServiceClient
	comparison tailboundv1.ComparisonServiceClient
	planning   tailboundv1.PlanningServiceClient
	trace      tailboundv1.TraceServiceClient
	report     tailboundv1.ReportServiceClient
	intake     tailboundv1.IntakeServiceClient

	settings settings
	// calls are for streams, unaryCalls for the other calls.
	calls, unaryCalls []grpc.CallOption

	closer io.Closer
}

// Dial returns a client of the server at target, a gRPC target such as "host:port", "dns:///host:port" or "unix:/path". It
// does not connect yet: the first call does, and reports a server that cannot be reached as UNAVAILABLE.
//
// Exactly one of Plaintext and TLS must be among the options, so that nothing is ever sent unprotected by omission.
func Dial(target string, options ...Option) (*Client, error) {
	s := settle(options)
	if target == "" {
		return nil, errors.New("client: the target is empty; want one such as host:port")
	}
	if len(s.security) != 1 {
		return nil, fmt.Errorf("client: state exactly one of Plaintext and TLS for %s", target)
	}
	conn, err := grpc.NewClient(target, s.dialOptions()...)
	if err != nil {
		return nil, fmt.Errorf("client: target %q: %w", target, err)
	}
	c := over(conn, s)
	c.closer = conn
	return c, nil
}

// New returns a client over a connection that the caller made and will close, such as one to a server in the same process.
// Retries are the connection's affair: only Dial sets them up.
func New(conn grpc.ClientConnInterface, options ...Option) *Client {
	return over(conn, settle(options))
}

func over(conn grpc.ClientConnInterface, s settings) *Client {
	return &Client{
		assessment: tailboundv1.NewAssessmentServiceClient(conn),
		comparison: tailboundv1.NewComparisonServiceClient(conn),
		planning:   tailboundv1.NewPlanningServiceClient(conn),
		trace:      tailboundv1.NewTraceServiceClient(conn),
		report:     tailboundv1.NewReportServiceClient(conn),
		intake:     tailboundv1.NewIntakeServiceClient(conn),
		settings:   s,
		calls:      s.callOptions(),
		// What is larger than gRPC keeps of itself, 256 kB, would be tried once only.
		unaryCalls: append(s.callOptions(), grpc.MaxRetryRPCBufferSize(s.messageBytes)),
	}
}

// Close closes the connection that Dial made; calls under way fail with CANCELED. On a client of New it does nothing.
func (c *Client) Close() error {
	if c.closer == nil {
		return nil
	}
	return c.closer.Close()
}

// AssessGroup assesses one group of readings against one limit. A failure is an *Error.
func (c *Client) AssessGroup(ctx context.Context, request *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
	return unary(ctx, c, c.assessment.AssessGroup, request)
}

// PartitionGroup splits the variance of a group into between and within zones or subjects. A failure is an *Error.
func (c *Client) PartitionGroup(ctx context.Context, request *tailboundv1.PartitionGroupRequest) (*tailboundv1.PartitionGroupResponse, error) {
	return unary(ctx, c, c.assessment.PartitionGroup, request)
}

// CompareCampaigns assesses each campaign and compares every pair. A failure is an *Error.
func (c *Client) CompareCampaigns(ctx context.Context, request *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	return unary(ctx, c, c.comparison.CompareCampaigns, request)
}

// PlanSampling gives the chance of each outcome for a range of sample numbers. A failure is an *Error.
func (c *Client) PlanSampling(ctx context.Context, request *tailboundv1.PlanSamplingRequest) (*tailboundv1.PlanSamplingResponse, error) {
	return unary(ctx, c, c.planning.PlanSampling, request)
}

// ReadResults turns a file of results into groups that AssessGroup takes, and says what it understood and refused of it. The file
// may have as many bytes as WithMessageBytes allows, the answer up to 256 MiB. A failure is an *Error.
func (c *Client) ReadResults(ctx context.Context, request *tailboundv1.ReadResultsRequest) (*tailboundv1.ReadResultsResponse, error) {
	return unary(ctx, c, large(c.intake.ReadResults), request)
}

// ReadLog turns the file of a logger into values that ReduceTrace takes, in parts if they are more than one message holds, and says
// what it understood and refused of it. Sizes and failures are as for ReadResults.
func (c *Client) ReadLog(ctx context.Context, request *tailboundv1.ReadLogRequest) (*tailboundv1.ReadLogResponse, error) {
	return unary(ctx, c, large(c.intake.ReadLog), request)
}

// unary makes one call within the client's timeout and gives its failure a type.
func unary[Q, A any](ctx context.Context, c *Client, method func(context.Context, *Q, ...grpc.CallOption) (*A, error), request *Q) (*A, error) {
	ctx, cancel := c.bounded(ctx)
	defer cancel()
	answer, err := method(ctx, request, c.unaryCalls...)
	if err != nil {
		return nil, fromRPC(err)
	}
	return answer, nil
}

// bounded adds the client's timeout to a context that has no deadline; a caller who stated one knows better.
func (c *Client) bounded(ctx context.Context) (context.Context, context.CancelFunc) {
	if _, stated := ctx.Deadline(); stated || c.settings.timeout <= 0 {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, c.settings.timeout)
}
