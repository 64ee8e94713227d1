package rpc

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// journal is a log that a test may read while the server writes.
type journal struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// serve runs a server in memory whose assessments are made by assess, if given.
func serve(t *testing.T, timeout time.Duration, assess assessFunc) (*grpc.ClientConn, *journal) {
	t.Helper()
	written := new(journal)
	log := slog.New(slog.NewTextHandler(written, &slog.HandlerOptions{Level: slog.LevelDebug}))
	server := grpc.NewServer(Interceptors(log, timeout)...)
	handlers := New(Options{MaxReadings: 100, Logger: log})
	if assess != nil {
		handlers.assess = assess
	}
	handlers.Register(server)
	healthgrpc.RegisterHealthServer(server, health.NewServer())
	listener := bufconn.Listen(1 << 16)
	go func() { _ = server.Serve(listener) }()
	conn, err := grpc.NewClient("passthrough:///memory", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }))
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, conn.Close())
		server.Stop()
	})
	return conn, written
}

type assessFunc = func(reading.Group, assess.Options) (*report.Assessment, error)

// byName fails in the way that the name of the group asks for.
func byName(g reading.Group, _ assess.Options) (*report.Assessment, error) {
	switch g.Name {
	case "panic":
		panic("0.0815 mg/m3 is too much for me")
	case "internal":
		return nil, fault.Wrap(errors.New("disk 7 is full"), "storing")
	case "undetermined":
		return nil, fault.Unsettled("the readings do not determine an answer")
	case "unsupported":
		return nil, fault.Unimplemented("not yet")
	}
	return &report.Assessment{Name: g.Name}, nil
}

func named(name string) *tailboundv1.AssessGroupRequest {
	r := messages.Sound()
	r.Name = name
	return r
}

func TestAssessGroup(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, time.Minute, nil)
	client := tailboundv1.NewAssessmentServiceClient(conn)
	answer, err := client.AssessGroup(t.Context(), dozen(0))
	require.NoError(t, err)
	require.Equal(t, int32(12), answer.GetSample().GetReadings())
	require.Greater(t, answer.GetPercentile().GetUpper(), answer.GetPercentile().GetEstimate())
	require.Equal(t, tailboundv1.Rule_RULE_EN689, answer.GetDecision().GetRule())
	require.Equal(t, 1.5, answer.GetLimit().GetValue())
	require.Equal(t, report.Caution, answer.GetCaution())
	require.Contains(t, written.String(), "readings=12")
	// Times are numbers that may hold any digits.
	said := regexp.MustCompile(`(time|duration)=\S+`).ReplaceAllString(written.String(), "")
	require.NotContains(t, said, "0.11", "measurement data stay out of the log")
	require.NotContains(t, written.String(), "group 0", "names stay out of the log")
}

func TestAssessGroupErrors(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, time.Minute, byName)
	client := tailboundv1.NewAssessmentServiceClient(conn)
	for name, code := range map[string]codes.Code{
		"internal": codes.Internal, "panic": codes.Internal, "undetermined": codes.FailedPrecondition, "unsupported": codes.Unimplemented,
	} {
		_, err := client.AssessGroup(t.Context(), named(name))
		require.Equal(t, code, status.Code(err), name)
		require.NotContains(t, err.Error(), "disk 7")
		require.NotContains(t, err.Error(), "too much for me")
		require.NotContains(t, err.Error(), "goroutine")
	}
	require.Eventually(t, func() bool {
		log := written.String()
		return strings.Contains(log, "disk 7 is full") && strings.Contains(log, "call panicked") && strings.Contains(log, "byName")
	}, time.Second, time.Millisecond, "the log has the cause and the stack")

	bad := messages.Sound()
	bad.Readings[1] = messages.Value(-1)
	_, err := client.AssessGroup(t.Context(), bad)
	s := status.Convert(err)
	require.Equal(t, codes.InvalidArgument, s.Code())
	require.Equal(t, "readings[1].value", s.Details()[0].(*errdetails.BadRequest).GetFieldViolations()[0].GetField())
}

// TestAssessGroups: whatever is wrong with one group, every group is answered in its place and the stream ends well.
func TestAssessGroups(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, time.Minute, byName)
	stream, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroups(t.Context())
	require.NoError(t, err)
	bad := named("invalid")
	bad.Readings[1], bad.Limit.Value = messages.Value(-1), 0
	sent := []struct {
		group *tailboundv1.AssessGroupRequest
		code  codes.Code
	}{
		{named("a"), codes.OK},
		{bad, codes.InvalidArgument},
		{named("b"), codes.OK},
		{nil, codes.InvalidArgument},
		{named("panic"), codes.Internal},
		{named("internal"), codes.Internal},
		{named("undetermined"), codes.FailedPrecondition},
		{named("unsupported"), codes.Unimplemented},
		{named("c"), codes.OK},
	}
	for _, s := range sent {
		require.NoError(t, stream.Send(&tailboundv1.AssessGroupsRequest{Group: s.group}))
	}
	require.NoError(t, stream.CloseSend())
	for i, s := range sent {
		answer, err := stream.Recv()
		require.NoError(t, err)
		require.Equal(t, int32(i), answer.GetIndex())
		require.Equal(t, int32(s.code), answer.GetError().GetCode())
		require.NotContains(t, answer.GetError().GetMessage(), "disk 7")
		if s.code == codes.OK {
			require.Equal(t, s.group.GetName(), answer.GetResult().GetName())
		}
		if s.group == bad {
			detail, err := answer.GetError().GetDetails()[0].UnmarshalNew()
			require.NoError(t, err)
			fields := detail.(*errdetails.BadRequest).GetFieldViolations()
			require.Equal(t, "limit.value", fields[0].GetField())
			require.Equal(t, "readings[1].value", fields[1].GetField())
		}
	}
	_, err = stream.Recv()
	require.ErrorIs(t, err, io.EOF)
	require.Eventually(t, func() bool { return strings.Contains(written.String(), "received=9 sent=9") }, time.Second, time.Millisecond)
	require.Contains(t, written.String(), "disk 7 is full")
}

func TestAssessGroupsBroken(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, time.Minute, nil)
	ctx, cancel := context.WithCancel(t.Context())
	stream, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroups(ctx)
	require.NoError(t, err)
	require.NoError(t, stream.Send(&tailboundv1.AssessGroupsRequest{Group: messages.Sound()}))
	_, err = stream.Recv()
	require.NoError(t, err)
	cancel()
	require.Eventually(t, func() bool { return strings.Contains(written.String(), "code=Canceled") }, time.Second, time.Millisecond)
}

func TestRequestID(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, 0, nil)
	client := healthgrpc.NewHealthClient(conn)
	answered := func(id string) string {
		var header metadata.MD
		ctx := t.Context()
		if id != "" {
			ctx = metadata.AppendToOutgoingContext(ctx, RequestIDHeader, id)
		}
		_, err := client.Check(ctx, &healthgrpc.HealthCheckRequest{}, grpc.Header(&header))
		require.NoError(t, err)
		require.Len(t, header.Get(RequestIDHeader), 1)
		return header.Get(RequestIDHeader)[0]
	}
	require.Equal(t, "caller-7", answered("caller-7"))
	require.Contains(t, written.String(), "level=DEBUG msg=call method=/grpc.health.v1.Health/Check request_id=caller-7 code=OK")
	first := answered("")
	require.NotEqual(t, first, answered(""))
	for _, forged := range []string{"two words", strings.Repeat("x", 129)} {
		require.NotEqual(t, forged, answered(forged))
	}
	require.Empty(t, RequestID(context.Background()))
}

// TestDeadline: the service's cap ends a call that the caller would wait for.
func TestDeadline(t *testing.T) {
	t.Parallel()
	handler := func(ctx context.Context, _ any) (any, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}
	chain := deadline(time.Millisecond)
	_, err := chain(context.Background(), nil, nil, handler)
	require.ErrorIs(t, err, context.DeadlineExceeded)

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = assessmentService{Server: New(Options{})}.AssessGroup(ctx, messages.Sound())
	require.ErrorIs(t, err, context.Canceled)
}

// TestPanicInStream: a panic outside the groups costs the stream and nothing else.
func TestPanicInStream(t *testing.T) {
	t.Parallel()
	written := new(journal)
	l := logger{slog.New(slog.NewTextHandler(written, nil))}
	require.Panics(t, func() {
		_ = l.stream(nil, silentStream{}, &grpc.StreamServerInfo{FullMethod: "/a/B"}, func(any, grpc.ServerStream) error { panic("no") })
	})
	require.Contains(t, written.String(), "call panicked")
}

type silentStream struct{ grpc.ServerStream }

func (silentStream) Context() context.Context { return context.Background() }

func TestLevels(t *testing.T) {
	t.Parallel()
	require.Equal(t, slog.LevelDebug, levelOf(healthgrpc.Health_Check_FullMethodName, codes.OK))
	require.Equal(t, slog.LevelError, levelOf(healthgrpc.Health_Check_FullMethodName, codes.Internal))
	require.Equal(t, slog.LevelInfo, levelOf(tailboundv1.AssessmentService_AssessGroup_FullMethodName, codes.InvalidArgument))
}

// TestAssessGroupsKeepsOrder: groups that take longer than their successors still come first.
func TestAssessGroupsKeepsOrder(t *testing.T) {
	t.Parallel()
	conn, _ := serve(t, time.Minute, func(g reading.Group, _ assess.Options) (*report.Assessment, error) {
		if len(g.Name)%3 == 0 {
			time.Sleep(time.Millisecond)
		}
		return &report.Assessment{Name: g.Name}, nil
	})
	stream, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroups(t.Context())
	require.NoError(t, err)
	const groups = 150
	go func() {
		for i := range groups {
			_ = stream.Send(&tailboundv1.AssessGroupsRequest{Group: named(strings.Repeat("x", i))})
		}
		_ = stream.CloseSend()
	}()
	for i := range groups {
		answer, err := stream.Recv()
		require.NoError(t, err)
		require.Equal(t, int32(i), answer.GetIndex())
		require.Len(t, answer.GetResult().GetName(), i)
	}
	_, err = stream.Recv()
	require.ErrorIs(t, err, io.EOF)
}

// deafStream fails to send, as when an answer cannot be encoded, and receives until its context ends.
type deafStream struct {
	groupsStream
	ctx    context.Context //nolint:containedctx // A stream hands its context out.
	groups int
}

func (s *deafStream) Context() context.Context { return s.ctx }

func (s *deafStream) Recv() (*tailboundv1.AssessGroupsRequest, error) {
	if s.groups--; s.groups >= 0 {
		return &tailboundv1.AssessGroupsRequest{Group: messages.Sound()}, nil
	}
	<-s.ctx.Done()
	return nil, s.ctx.Err()
}

func (*deafStream) Send(*tailboundv1.AssessGroupsResponse) error { return io.ErrShortWrite }

// TestAssessGroupsCannotSend: a failed send ends the call though the caller is silent; goleak sees that nothing stays.
func TestAssessGroupsCannotSend(t *testing.T) {
	t.Parallel()
	for _, groups := range []int{1, 1000} {
		ctx, cancel := context.WithCancel(t.Context())
		err := assessmentService{Server: New(Options{})}.AssessGroups(&deafStream{ctx: ctx, groups: groups})
		require.ErrorIs(t, err, io.ErrShortWrite)
		cancel()
	}
}
