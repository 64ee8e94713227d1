package rest

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// reduceTrace takes the header and the parts of a trace, one a line, and answers with one object. The body as a whole is bounded,
// which a trace sent by gRPC is not. The stock handler would name no line and take half a body for a whole one.
func (f *face) reduceTrace(w http.ResponseWriter, r *http.Request, _ map[string]string) {
	ctx, err := runtime.AnnotateContext(r.Context(), f.mux, r, tailboundv1.TraceService_ReduceTrace_FullMethodName)
	if err != nil {
		f.fail(r.Context(), f.mux, codec{}, w, r, err)
		return
	}
	answer, err := f.reduce(ctx, r.Body)
	var body []byte
	if err == nil {
		body, err = AppendJSON(nil, answer)
	}
	if err != nil {
		f.fail(ctx, f.mux, codec{}, w, r, err)
		return
	}
	w.Header().Set("Content-Type", codec{}.ContentType(nil))
	// A client that is gone is told by nobody.
	_, _ = w.Write(append(body, '\n'))
}

func (f *face) reduce(ctx context.Context, body io.Reader) (*tailboundv1.ReduceTraceResponse, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	if f.RequestTimeout > 0 {
		ctx, cancel = context.WithTimeout(ctx, f.RequestTimeout)
		defer cancel()
	}
	stream, err := f.traces.ReduceTrace(ctx)
	if err != nil {
		return nil, err
	}
	in := newLines(body, f.MaxMessageBytes)
	for {
		line, err := in.next()
		if errors.Is(err, io.EOF) {
			return stream.CloseAndRecv()
		}
		if err != nil {
			return nil, status.Error(codes.Canceled, "the body was cut")
		}
		part := new(tailboundv1.ReduceTraceRequest)
		if err := ParseJSON(line, part); err != nil {
			return nil, status.Errorf(codes.InvalidArgument, "line %d: %s", in.number, strings.Replace(err.Error(), "(line 1:", "(column ", 1))
		}
		if err := stream.Send(part); errors.Is(err, io.EOF) {
			return stream.CloseAndRecv() // The service ended the call; its status says why.
		} else if err != nil {
			return nil, err
		}
	}
}
