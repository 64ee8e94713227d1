// Package rest is the REST face of the service: JSON over HTTP for every call of the contract. It reaches the domain only
// through gRPC, over one connection that the caller supplies, so that every request passes the interceptors.
package rest

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/web"
)

// Options says what the REST face accepts.
type Options struct {
	// MaxMessageBytes caps the body of a unary call and each line of a stream.
	MaxMessageBytes int
	// RequestTimeout caps reading and answering a unary call; 0 sets no cap.
	RequestTimeout time.Duration
	// StreamIdleTimeout ends a stream on which nothing moves either way; 0 sets no cap.
	StreamIdleTimeout time.Duration
	// Logger takes what goes wrong in the REST face itself. Nil discards it.
	Logger *slog.Logger
}

// face is the state that the handlers share.
type face struct {
	Options
	mux         *runtime.ServeMux
	assessments tailboundv1.AssessmentServiceClient
	traces      tailboundv1.TraceServiceClient
	reports     tailboundv1.ReportServiceClient
	health      healthgrpc.HealthClient
}

// New returns the handler of the REST face over conn.
func New(conn *grpc.ClientConn, o Options) (http.Handler, error) {
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	f := &face{
		Options: o, assessments: tailboundv1.NewAssessmentServiceClient(conn),
		traces: tailboundv1.NewTraceServiceClient(conn), reports: tailboundv1.NewReportServiceClient(conn), health: healthgrpc.NewHealthClient(conn),
	}
	f.mux = runtime.NewServeMux(
		runtime.WithMarshalerOption(runtime.MIMEWildcard, codec{}),
		runtime.WithIncomingHeaderMatcher(incomingHeader),
		runtime.WithOutgoingHeaderMatcher(outgoingHeader),
		runtime.WithForwardResponseOption(forward),
		runtime.WithErrorHandler(f.fail),
		runtime.WithRoutingErrorHandler(f.failRouting),
		runtime.WithDisablePathLengthFallback(),
		runtime.WithDisableHTTPMethodOverride(),
		runtime.WithWriteContentLength(),
		runtime.WithMiddlewares(f.bounded),
	)
	if err := f.routes(conn); err != nil {
		return nil, err
	}
	page, err := web.New()
	if err != nil {
		return nil, err
	}
	return identified(paged(page, taken(f.mux))), nil
}

// routes registers every path. What is registered later is matched first, so the hand-written handlers of streams come
// after the generated ones.
func (f *face) routes(conn *grpc.ClientConn) error {
	for _, register := range []func(context.Context, *runtime.ServeMux, *grpc.ClientConn) error{
		tailboundv1.RegisterAssessmentServiceHandler,
		tailboundv1.RegisterComparisonServiceHandler,
		tailboundv1.RegisterPlanningServiceHandler,
		tailboundv1.RegisterTraceServiceHandler,
		tailboundv1.RegisterIntakeServiceHandler,
		tailboundv1.RegisterReportServiceHandler,
	} {
		if err := register(context.Background(), f.mux, conn); err != nil {
			return err
		}
	}
	document := openAPI()
	for _, r := range []struct {
		method, path string
		handle       runtime.HandlerFunc
	}{
		{http.MethodPost, pathAssessAll, f.assessAll},
		{http.MethodPost, "/v1/traces:reduce", f.reduceTrace},
		{http.MethodPost, "/v1/traces:plot", f.plotTrace},
		{http.MethodGet, pathOpenAPI, document},
		{http.MethodHead, pathOpenAPI, document},
		{http.MethodGet, pathHealth, f.healthz},
		{http.MethodHead, pathHealth, f.healthz},
	} {
		if err := f.mux.HandlePath(r.method, r.path, r.handle); err != nil {
			return err
		}
	}
	return nil
}

const (
	pathAssessAll = "/v1/groups:assessAll"
	pathOpenAPI   = "/v1/openapi.json"
	pathHealth    = "/healthz"
)
