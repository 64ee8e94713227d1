package client

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// ReduceTrace sends a logger's trace in parts, in the order of time, and returns the readings made of it. The parts may have
// any size up to WithMessageBytes, so a long trace need never be in memory as a whole.
//
// An error that parts yields ends the call and is returned wrapped, so that half a trace never passes for a whole one; every
// other failure is an *Error. The context alone bounds the call.
func (c *Client) ReduceTrace(ctx context.Context, header *tailboundv1.TraceHeader, parts iter.Seq2[*tailboundv1.TraceValues, error]) (*tailboundv1.ReduceTraceResponse, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := c.trace.ReduceTrace(ctx, c.calls...)
	if err != nil {
		return nil, fromRPC(err)
	}
	err = stream.Send(&tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Header{Header: header}})
	if err == nil {
		for values, unread := range parts {
			if unread != nil {
				return nil, fmt.Errorf("client: read trace: %w", unread)
			}
			err = stream.Send(&tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Values{Values: values}})
			if err != nil {
				break
			}
		}
	}
	cut := errors.Is(err, io.EOF) // The server ended the call; its status says why.
	if err != nil && !cut {
		return nil, fromRPC(err)
	}
	answer, err := stream.CloseAndRecv()
	if err != nil {
		return nil, fromRPC(err)
	}
	if cut {
		return nil, broken("the server answered before the end of the trace")
	}
	return answer, nil
}

// EstimateAirChange finds the air-change rate of a room from the decay of a tracer. A failure is an *Error.
func (c *Client) EstimateAirChange(ctx context.Context, request *tailboundv1.EstimateAirChangeRequest) (*tailboundv1.EstimateAirChangeResponse, error) {
	return unary(ctx, c, c.trace.EstimateAirChange, request)
}
