package rpc

import (
	"context"
	"errors"
	"log/slog"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// logger writes one line when a call ends: its method, id, code, duration and counts. It never writes measurement data.
type logger struct {
	log *slog.Logger
}

func (l logger) unary(ctx context.Context, request any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (response any, err error) {
	start, returned := time.Now(), false
	defer func() {
		if !returned {
			l.panicked(ctx, info.FullMethod, start)
			return
		}
		level := levelOf(info.FullMethod, status.Code(err))
		if !l.log.Enabled(ctx, level) {
			return
		}
		l.log.LogAttrs(ctx, level, "call", append(common(ctx, info.FullMethod, err, start), slog.Int("readings", readingsOf(request)))...)
	}()
	response, err = next(ctx, request)
	returned = true
	return response, err
}

func (l logger) stream(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) (err error) {
	start, returned := time.Now(), false
	counted := &countedStream{ServerStream: stream}
	defer func() {
		ctx := stream.Context()
		if !returned {
			l.panicked(ctx, info.FullMethod, start)
			return
		}
		l.log.LogAttrs(ctx, levelOf(info.FullMethod, status.Code(err)), "stream",
			append(common(ctx, info.FullMethod, err, start), slog.Int64("received", counted.received.Load()), slog.Int64("sent", counted.sent.Load()))...)
	}()
	err = next(server, counted)
	returned = true
	return err
}

func common(ctx context.Context, method string, err error, start time.Time) []slog.Attr {
	return append(make([]slog.Attr, 0, 6),
		slog.String("method", method), slog.String("request_id", RequestID(ctx)),
		slog.String("code", status.Code(err).String()), slog.Duration("duration", time.Since(start)))
}

// panicked runs while a panic unwinds, so the stack still shows where it began.
func (l logger) panicked(ctx context.Context, method string, start time.Time) {
	l.log.LogAttrs(ctx, slog.LevelError, "call panicked", slog.String("method", method), slog.String("request_id", RequestID(ctx)),
		slog.Duration("duration", time.Since(start)), slog.String("stack", string(debug.Stack())))
}

// levelOf keeps probes out of the way and lifts what an operator should look at.
func levelOf(method string, code codes.Code) slog.Level {
	switch {
	case code == codes.Internal, code == codes.Unknown, code == codes.DataLoss:
		return slog.LevelError
	case strings.HasPrefix(method, "/grpc.health."):
		return slog.LevelDebug
	default:
		return slog.LevelInfo
	}
}

func readingsOf(request any) int {
	if r, ok := request.(interface{ GetReadings() []*tailboundv1.Reading }); ok {
		return len(r.GetReadings())
	}
	n := 0
	if r, ok := request.(interface {
		GetGroups() []*tailboundv1.AssessGroupRequest
	}); ok {
		for _, g := range r.GetGroups() {
			n += len(g.GetReadings())
		}
	}
	return n
}

// countedStream counts messages.
type countedStream struct {
	grpc.ServerStream
	received, sent atomic.Int64
}

// RecvMsg counts a message that came.
func (s *countedStream) RecvMsg(m any) error {
	err := s.ServerStream.RecvMsg(m)
	if err == nil {
		s.received.Add(1)
	}
	return err
}

// SendMsg counts a message that went.
func (s *countedStream) SendMsg(m any) error {
	err := s.ServerStream.SendMsg(m)
	if err == nil {
		s.sent.Add(1)
	}
	return err
}

// unwrap returns the innermost cause of err, nil when it has none.
func unwrap(err error) error {
	cause := errors.Unwrap(err)
	for next := cause; next != nil; next = errors.Unwrap(next) {
		cause = next
	}
	return cause
}
