package client

import (
	"context"
	"slices"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// largeBytes is the largest answer of the calls whose answer may be far larger than the question: a report of 1000 groups takes
// 28 MB, and what was read of a file up to twelve times the bytes of the file.
const largeBytes = 256 << 20

// RenderReport assesses groups, 1 to 1000, and returns one self-contained page of HTML about them. A group that cannot be
// assessed is reported with the reason. A failure is an *Error. The page may be larger than WithMessageBytes allows, up to 256 MiB.
//
// The server writes few large reports at a time: one of hundreds of groups may take most of DefaultTimeout, or more on a busy
// server, and ends with DEADLINE_EXCEEDED then. Ask for fewer groups, or raise the server's request timeout and this client's.
func (c *Client) RenderReport(ctx context.Context, request *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
	return unary(ctx, c, large(c.report.RenderReport), request)
}

// large is method with room for a large answer.
func large[Q, A any](
	method func(context.Context, *Q, ...grpc.CallOption) (*A, error),
) func(context.Context, *Q, ...grpc.CallOption) (*A, error) {
	return func(ctx context.Context, request *Q, options ...grpc.CallOption) (*A, error) {
		return method(ctx, request, append(slices.Clip(options), grpc.MaxCallRecvMsgSize(largeBytes))...)
	}
}
