package service

import (
	"context"
	"errors"
	"math"
	"net"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	_ "google.golang.org/grpc/encoding/gzip" // Clients of other languages compress large groups.
	"google.golang.org/grpc/health"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/reflection"
	"google.golang.org/grpc/test/bufconn"

	"example.com/tailbound/service/rpc"
)

// newServer returns a gRPC server with every handler and interceptor, for a network or for memory alike.
func newServer(o Options, streams uint32, probe *health.Server) *grpc.Server {
	options := append(rpc.Interceptors(o.logger(), o.RequestTimeout),
		grpc.MaxRecvMsgSize(o.MaxMessageBytes),
		grpc.MaxConcurrentStreams(streams),
		grpc.WaitForHandlers(true),
		// A peer that is gone without a word is noticed after a minute and a half; one that pings more often than every ten
		// seconds is turned away.
		grpc.KeepaliveParams(keepalive.ServerParameters{Time: time.Minute, Timeout: 30 * time.Second}),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: 10 * time.Second, PermitWithoutStream: true}),
	)
	s := grpc.NewServer(options...)
	rpc.New(rpc.Options{MaxReadings: o.MaxReadings, Version: Version(), Logger: o.Logger}).Register(s)
	healthgrpc.RegisterHealthServer(s, probe)
	reflection.Register(s)
	return s
}

// memory is a gRPC server and the one connection to it, both inside the process.
type memory struct {
	server *grpc.Server
	conn   *grpc.ClientConn
	served chan error
}

// newMemory serves without TLS, which a connection in memory does not need, and without a cap on concurrent calls, as all
// calls share the connection.
func newMemory(o Options, probe *health.Server) (*memory, error) {
	const buffer = 256 << 10
	listener := bufconn.Listen(buffer)
	// The message limit is that of the server; what it answers is its own affair.
	conn, err := grpc.NewClient("passthrough:///memory",
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }),
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(math.MaxInt32)))
	if err != nil {
		return nil, err
	}
	m := &memory{server: newServer(o, math.MaxUint32, probe), conn: conn, served: make(chan error, 1)}
	go func() { m.served <- ignoreStopped(m.server.Serve(listener)) }()
	return m, nil
}

// close ends the connection, then the server. It waits for calls until ctx ends.
func (m *memory) close(ctx context.Context) error {
	err := m.conn.Close()
	drain(ctx, m.server)
	return errors.Join(err, <-m.served)
}

// ignoreStopped drops the error of a server that was stopped before it began to serve.
func ignoreStopped(err error) error {
	if errors.Is(err, grpc.ErrServerStopped) {
		return nil
	}
	return err
}

// drain stops a server gracefully until ctx ends, then by force: an open health Watch would hold it for ever.
func drain(ctx context.Context, s *grpc.Server) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.GracefulStop()
	}()
	select {
	case <-done:
	case <-ctx.Done():
		s.Stop()
		<-done
	}
}
