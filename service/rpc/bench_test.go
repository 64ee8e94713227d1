package rpc

import (
	"context"
	"io"
	"log/slog"
	"net"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

// dozen is a group of 12 readings with a limit.
func dozen(i int) *tailboundv1.AssessGroupRequest {
	values := []float64{0.11, 0.24, 0.08, 0.31, 0.17, 0.52, 0.09, 0.14, 0.2, 0.28, 0.12, 0.41}
	r := &tailboundv1.AssessGroupRequest{
		Unit: "mg/m3", Name: "group " + strconv.Itoa(i), Agent: "dust",
		Limit: &tailboundv1.Limit{Value: 1.5, Unit: "mg/m3"},
	}
	for j, v := range values {
		v *= 1 + float64((i*7+j*3)%97)/500
		r.Readings = append(r.Readings, &tailboundv1.Reading{Result: &tailboundv1.Reading_Value{Value: v}})
	}
	return r
}

// benchServer serves on a loopback port, as a deployment does, with every interceptor and a logger that writes.
func benchServer(b *testing.B) *grpc.ClientConn {
	b.Helper()
	log := slog.New(slog.NewJSONHandler(io.Discard, nil))
	s := grpc.NewServer(Interceptors(log, time.Minute)...)
	New(Options{MaxReadings: 10000, Logger: log}).Register(s)
	healthgrpc.RegisterHealthServer(s, health.NewServer())
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	go func() { _ = s.Serve(l) }()
	b.Cleanup(s.Stop)
	conn, err := grpc.NewClient(l.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(b, err)
	b.Cleanup(func() { _ = conn.Close() })
	return conn
}

// BenchmarkUnary compares an assessment with the emptiest call of the same server, with 64 callers.
func BenchmarkUnary(b *testing.B) {
	conn := benchServer(b)
	assessments, probe := tailboundv1.NewAssessmentServiceClient(conn), healthgrpc.NewHealthClient(conn)
	requests := make([]*tailboundv1.AssessGroupRequest, 64)
	for i := range requests {
		requests[i] = dozen(i)
	}
	b.Run("empty", func(b *testing.B) {
		b.SetParallelism(32)
		b.RunParallel(func(p *testing.PB) {
			for p.Next() {
				if _, err := probe.Check(context.Background(), &healthgrpc.HealthCheckRequest{}); err != nil {
					b.Error(err)
				}
			}
		})
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "calls/s")
	})
	b.Run("assess", func(b *testing.B) {
		b.SetParallelism(32)
		b.RunParallel(func(p *testing.PB) {
			for i := 0; p.Next(); i++ {
				if _, err := assessments.AssessGroup(context.Background(), requests[i%64]); err != nil {
					b.Error(err)
				}
			}
		})
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "calls/s")
	})
}

// BenchmarkStream compares groups of 12 readings with messages without a group, which are answered with a short error.
func BenchmarkStream(b *testing.B) {
	client := tailboundv1.NewAssessmentServiceClient(benchServer(b))
	for _, c := range []struct {
		name    string
		request func(int) *tailboundv1.AssessGroupsRequest
	}{
		{"empty", func(int) *tailboundv1.AssessGroupsRequest { return &tailboundv1.AssessGroupsRequest{} }},
		{"assess", func(i int) *tailboundv1.AssessGroupsRequest { return &tailboundv1.AssessGroupsRequest{Group: dozen(i)} }},
	} {
		b.Run(c.name, func(b *testing.B) {
			requests := make([]*tailboundv1.AssessGroupsRequest, 64)
			for i := range requests {
				requests[i] = c.request(i)
			}
			stream, err := client.AssessGroups(context.Background())
			require.NoError(b, err)
			go func() {
				for i := range b.N {
					if stream.Send(requests[i%64]) != nil {
						return
					}
				}
				_ = stream.CloseSend()
			}()
			for range b.N {
				_, err := stream.Recv()
				require.NoError(b, err)
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "groups/s")
		})
	}
}

// BenchmarkAnswer is the work of one call without transport, and its parts.
func BenchmarkAnswer(b *testing.B) {
	s, r := New(Options{MaxReadings: 10000}), dozen(1)
	response, err := s.answer(r)
	require.NoError(b, err)
	g, o := wire.ToGroup(r)
	a, err := s.assess(g, o)
	require.NoError(b, err)
	b.Run("whole", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, _ = s.answer(r)
		}
	})
	b.Run("check", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_ = request.CheckGroup(r, 10000)
		}
	})
	b.Run("from proto", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			wire.ToGroup(r)
		}
	})
	b.Run("assess", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, _ = s.assess(g, o)
		}
	})
	b.Run("to proto", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			wire.FromAssessment(a)
		}
	})
	b.Run("marshal", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, _ = proto.Marshal(response)
		}
		b.ReportMetric(float64(proto.Size(response)), "bytes")
	})
}
