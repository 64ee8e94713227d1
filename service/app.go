package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"

	"google.golang.org/grpc/health"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rest"
)

// App is the service with its two faces. Use it once: New, Start, Stop; or New and Run. It is not safe for concurrent use
// but for GRPCAddr and HTTPAddr after Start.
type App struct {
	options Options
	log     *slog.Logger
	probe   *health.Server
	grpc    face
	http    face
	// failed receives the error of a face that stopped by itself.
	failed chan error
}

// face is one open address.
type face struct {
	addr     net.Addr
	cleanups cleanups
}

// New checks the options. Nothing is opened yet.
func New(o Options) (*App, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	const faces = 2
	return &App{options: o, log: o.logger(), probe: health.NewServer(), failed: make(chan error, faces)}, nil
}

// Start opens the addresses and serves in the background. After an error nothing is left open.
func (a *App) Start(ctx context.Context) error {
	a.setServing(healthgrpc.HealthCheckResponse_NOT_SERVING)
	for _, f := range []struct {
		name  string
		addr  string
		start func(net.Listener) error
	}{
		{"gRPC", a.options.GRPCAddr, a.startGRPC},
		{"HTTP", a.options.HTTPAddr, a.startHTTP},
	} {
		if err := listen(ctx, f.addr, f.start); err != nil {
			err = fmt.Errorf("service: serving %s on %s: %w", f.name, f.addr, err)
			return errors.Join(err, a.Stop(ctx))
		}
	}
	a.setServing(healthgrpc.HealthCheckResponse_SERVING)
	a.log.InfoContext(ctx, "serving", "grpc", a.GRPCAddr(), "http", a.HTTPAddr())
	return nil
}

// setServing sets the health of the whole and of each service of the contract.
func (a *App) setServing(s healthgrpc.HealthCheckResponse_ServingStatus) {
	for _, name := range []string{
		"", tailboundv1.AssessmentService_ServiceDesc.ServiceName, tailboundv1.ComparisonService_ServiceDesc.ServiceName,
		tailboundv1.PlanningService_ServiceDesc.ServiceName, tailboundv1.TraceService_ServiceDesc.ServiceName,
		tailboundv1.IntakeService_ServiceDesc.ServiceName, tailboundv1.ReportService_ServiceDesc.ServiceName,
	} {
		a.probe.SetServingStatus(name, s)
	}
}

// listen opens an address, unless it is empty, and hands it on.
func listen(ctx context.Context, addr string, start func(net.Listener) error) error {
	if addr == "" {
		return nil
	}
	var config net.ListenConfig
	l, err := config.Listen(ctx, "tcp", addr)
	if err != nil {
		return err
	}
	if err := start(l); err != nil {
		return errors.Join(err, l.Close())
	}
	return nil
}

func (a *App) startGRPC(l net.Listener) error {
	a.grpc.addr = l.Addr()
	server := newServer(a.options, a.options.MaxConcurrentStreams, a.probe)
	go func() { a.report("gRPC", ignoreStopped(server.Serve(l))) }()
	a.grpc.cleanups.add("gRPC", func(ctx context.Context) error {
		drain(ctx, server)
		return nil
	})
	return nil
}

func (a *App) startHTTP(l net.Listener) error {
	m, err := newMemory(a.options, a.probe)
	if err != nil {
		return err
	}
	a.http.cleanups.add("in-memory gRPC", m.close)
	handler, err := rest.New(m.conn, rest.Options{
		MaxMessageBytes: a.options.MaxMessageBytes, RequestTimeout: a.options.RequestTimeout,
		StreamIdleTimeout: a.options.StreamIdleTimeout, Logger: a.options.Logger,
	})
	if err != nil {
		return err
	}
	a.http.addr = l.Addr()
	server := newHTTPServer(handler, a.log)
	go func() { a.report("HTTP", server.Serve(l)) }()
	a.http.cleanups.add("HTTP", func(ctx context.Context) error { return shutdown(ctx, server) })
	return nil
}

// newHTTPServer caps what a client can hold up. There is no cap on a whole request: the handlers set their own.
func newHTTPServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// shutdown lets requests end until ctx does, then cuts them.
func shutdown(ctx context.Context, s *http.Server) error {
	err := s.Shutdown(ctx)
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return s.Close()
	}
	return err
}

// report keeps the error of a face that stopped by itself; one that was stopped has none.
func (a *App) report(face string, err error) {
	if err != nil && !errors.Is(err, http.ErrServerClosed) {
		a.failed <- fmt.Errorf("service: %s stopped: %w", face, err)
	}
}

// GRPCAddr is the bound address of gRPC, as HOST:PORT; empty when it is not served.
func (a *App) GRPCAddr() string { return text(a.grpc.addr) }

// HTTPAddr is the bound address of REST, as HOST:PORT; empty when it is not served.
func (a *App) HTTPAddr() string { return text(a.http.addr) }

func text(a net.Addr) string {
	if a == nil {
		return ""
	}
	return a.String()
}
