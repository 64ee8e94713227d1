package rpc

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/grpc-ecosystem/go-grpc-middleware/v2/interceptors/recovery"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// Interceptors returns the options that put every call through the same steps, outermost first:
//
//   - recovery: nothing inside can take the process down;
//   - request id: everything inside can name the call;
//   - log: sees the status that the caller gets and, on a panic, the stack;
//   - deadline: caps unary calls, so that the log says DeadlineExceeded;
//   - status: innermost, so that every step around it sees a status in place of a fault.
//
// A timeout of 0 sets no cap. A nil logger discards.
func Interceptors(log *slog.Logger, timeout time.Duration) []grpc.ServerOption {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	recovered := recovery.WithRecoveryHandler(func(any) error { return status.Error(codes.Internal, internalText) })
	l := logger{log}
	return []grpc.ServerOption{
		grpc.ChainUnaryInterceptor(
			recovery.UnaryServerInterceptor(recovered), identifyUnary, l.unary, deadline(timeout), statusUnary(l)),
		grpc.ChainStreamInterceptor(
			recovery.StreamServerInterceptor(recovered), identifyStream, l.stream, statusStream(l)),
	}
}

// deadline caps the time of a unary call; a caller's earlier deadline stands.
func deadline(timeout time.Duration) grpc.UnaryServerInterceptor {
	return func(ctx context.Context, request any, _ *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
		if timeout <= 0 {
			return next(ctx, request)
		}
		ctx, cancel := context.WithTimeout(ctx, timeout)
		defer cancel()
		return next(ctx, request)
	}
}

func statusUnary(l logger) grpc.UnaryServerInterceptor {
	return func(ctx context.Context, request any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (any, error) {
		response, err := next(ctx, request)
		if err == nil {
			return response, nil
		}
		return nil, l.outward(ctx, info.FullMethod, err)
	}
}

func statusStream(l logger) grpc.StreamServerInterceptor {
	return func(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) error {
		err := next(server, stream)
		if err == nil {
			return nil
		}
		return l.outward(stream.Context(), info.FullMethod, err)
	}
}

// outward turns an error into a status and logs the cause that the status keeps from the caller.
func (l logger) outward(ctx context.Context, method string, err error) error {
	s := toStatus(err)
	if s.Code() == codes.Internal {
		l.log.LogAttrs(ctx, slog.LevelError, "call failed", slog.String("method", method), slog.String("request_id", RequestID(ctx)), causeAttr(err))
	}
	return s.Err()
}

// causeAttr writes an error with the cause that its own text leaves out.
func causeAttr(err error) slog.Attr {
	if cause := unwrap(err); cause != nil {
		return slog.String("cause", fmt.Sprintf("%v: %v", err, cause))
	}
	return slog.String("cause", err.Error())
}
