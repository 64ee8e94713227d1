package client

import (
	"context"
	"iter"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// PlotGroup draws one figure of one group. A failure is an *Error; IsUndetermined says that there is nothing to draw.
func (c *Client) PlotGroup(ctx context.Context, request *tailboundv1.PlotGroupRequest) (*tailboundv1.PlotGroupResponse, error) {
	return unary(ctx, c, c.report.PlotGroup, request)
}

// PlotCampaigns draws campaigns side by side. A failure is as for PlotGroup.
func (c *Client) PlotCampaigns(ctx context.Context, request *tailboundv1.PlotCampaignsRequest) (*tailboundv1.PlotCampaignsResponse, error) {
	return unary(ctx, c, c.report.PlotCampaigns, request)
}

// PlotSampling draws the chance of each outcome by number of samples. A failure is as for PlotGroup.
func (c *Client) PlotSampling(ctx context.Context, request *tailboundv1.PlotSamplingRequest) (*tailboundv1.PlotSamplingResponse, error) {
	return unary(ctx, c, c.report.PlotSampling, request)
}

// PlotTrace sends a logger's trace as ReduceTrace does and returns a figure of one channel.
func (c *Client) PlotTrace(ctx context.Context, header *tailboundv1.PlotTraceHeader, parts iter.Seq2[*tailboundv1.TraceValues, error]) (*tailboundv1.PlotTraceResponse, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := c.report.PlotTrace(ctx, c.calls...)
	if err != nil {
		return nil, fromRPC(err)
	}
	first := &tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Header{Header: header}}
	return sendTrace(stream, first, parts, func(v *tailboundv1.TraceValues) *tailboundv1.PlotTraceRequest {
		return &tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Values{Values: v}}
	})
}
