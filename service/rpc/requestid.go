package rpc

import (
	"context"
	"crypto/rand"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
)

// RequestIDHeader is the metadata key of the id of a call, from the caller or, when it sent none, from the server. The
// answer carries it back.
const RequestIDHeader = "x-request-id"

// longestRequestID caps what a caller may put into the log.
const longestRequestID = 128

type requestIDKey struct{}

// RequestID returns the id of the call that ctx belongs to; empty outside a call.
func RequestID(ctx context.Context) string {
	id, _ := ctx.Value(requestIDKey{}).(string)
	return id
}

func identifyUnary(ctx context.Context, request any, _ *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
	id := requestID(ctx)
	// The header can only fail to be set when the transport is gone, which the call itself finds out.
	_ = grpc.SetHeader(ctx, metadata.MD{RequestIDHeader: {id}})
	return next(context.WithValue(ctx, requestIDKey{}, id), request)
}

func identifyStream(server any, stream grpc.ServerStream, _ *grpc.StreamServerInfo, next grpc.StreamHandler) error {
	id := requestID(stream.Context())
	_ = stream.SetHeader(metadata.MD{RequestIDHeader: {id}})
	return next(server, identifiedStream{stream, context.WithValue(stream.Context(), requestIDKey{}, id)})
}

type identifiedStream struct {
	grpc.ServerStream
	ctx context.Context //nolint:containedctx // A stream hands its context out.
}

// Context returns the context with the id.
func (s identifiedStream) Context() context.Context { return s.ctx }

// requestID accepts the caller's id when it is short and printable, so that no caller can forge lines of the log.
func requestID(ctx context.Context) string {
	if ids := metadata.ValueFromIncomingContext(ctx, RequestIDHeader); len(ids) > 0 && printable(ids[0]) {
		return ids[0]
	}
	return rand.Text()
}

func printable(id string) bool {
	if id == "" || len(id) > longestRequestID {
		return false
	}
	for i := range len(id) {
		if id[i] <= ' ' || id[i] > '~' {
			return false
		}
	}
	return true
}
