package client

import (
	"context"
	"slices"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// documentBytes is the largest report that RenderReport takes: one of 1000 groups is far larger than any other answer.
const documentBytes = 256 << 20

// RenderReport assesses groups, 1 to 1000, and returns one self-contained page of HTML about them. A group that cannot be
// assessed is reported with the reason. A failure is an *Error. The page may be larger than WithMessageBytes allows, up to 256 MiB.
func (c *Client) RenderReport(ctx context.Context, request *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
	method := func(ctx context.Context, q *tailboundv1.RenderReportRequest, options ...grpc.CallOption) (*tailboundv1.RenderReportResponse, error) {
		return c.report.RenderReport(ctx, q, append(slices.Clip(options), grpc.MaxCallRecvMsgSize(documentBytes))...)
	}
	return unary(ctx, c, method, request)
}
