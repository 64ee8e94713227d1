package rest

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// reduceTrace takes the header and the parts of a trace, one a line, and answers with one object.
func (f *face) reduceTrace(w http.ResponseWriter, r *http.Request, _ map[string]string) {
	f.trace(w, r, tailboundv1.TraceService_ReduceTrace_FullMethodName, func(ctx context.Context) (proto.Message, error) {
		return sendLines[tailboundv1.ReduceTraceRequest](ctx, newLines(r.Body, f.MaxMessageBytes), f.traces.ReduceTrace)
	})
}

// plotTrace takes the same with its own header and answers with a figure.
func (f *face) plotTrace(w http.ResponseWriter, r *http.Request, _ map[string]string) {
	f.trace(w, r, tailboundv1.ReportService_PlotTrace_FullMethodName, func(ctx context.Context) (proto.Message, error) {
		return sendLines[tailboundv1.PlotTraceRequest](ctx, newLines(r.Body, f.MaxMessageBytes), f.reports.PlotTrace)
	})
}

// trace answers a call that takes a trace. The body as a whole is bounded, which a trace sent by gRPC is not. The stock handler
// would name no line and take half a body for a whole one.
func (f *face) trace(w http.ResponseWriter, r *http.Request, method string, call func(context.Context) (proto.Message, error)) {
	ctx, err := runtime.AnnotateContext(r.Context(), f.mux, r, method)
	if err != nil {
		f.fail(r.Context(), f.mux, codec{}, w, r, err)
		return
	}
	within, cancel := context.WithCancel(ctx)
	defer cancel()
	if f.RequestTimeout > 0 {
		within, cancel = context.WithTimeout(within, f.RequestTimeout)
		defer cancel()
	}
	answer, err := call(within)
	var body []byte
	if err == nil {
		body, err = codec{}.Marshal(answer)
	}
	if err != nil {
		f.fail(ctx, f.mux, codec{}, w, r, err)
		return
	}
	w.Header().Set("Content-Type", codec{}.ContentType(answer))
	if documentOf(answer) != nil {
		unsniffed(w)
	} else {
		body = append(body, '\n')
	}
	// A client that is gone is told by nobody.
	_, _ = w.Write(body)
}

// sendLines sends each line as a message and returns the answer.
func sendLines[Part, Answer any, P interface {
	*Part
	proto.Message
}](
	ctx context.Context, in *lines, open func(context.Context, ...grpc.CallOption) (grpc.ClientStreamingClient[Part, Answer], error),
) (*Answer, error) {
	stream, err := open(ctx)
	if err != nil {
		return nil, err
	}
	for {
		line, err := in.next()
		if errors.Is(err, io.EOF) {
			return stream.CloseAndRecv()
		}
		if err != nil {
			return nil, status.Error(codes.Canceled, "the body was cut")
		}
		part := new(Part)
		if err := ParseJSON(line, P(part)); err != nil {
			return nil, status.Errorf(codes.InvalidArgument, "line %d: %s", in.number, strings.Replace(err.Error(), "(line 1:", "(column ", 1))
		}
		if err := stream.Send(part); errors.Is(err, io.EOF) {
			return stream.CloseAndRecv() // The service ended the call; its status says why.
		} else if err != nil {
			return nil, err
		}
	}
}
