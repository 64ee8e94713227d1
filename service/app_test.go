package service_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"
	reflectiongrpc "google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// onFreePorts are the defaults with free ports and a short drain.
func onFreePorts() service.Options {
	o := service.DefaultOptions()
	o.GRPCAddr, o.HTTPAddr, o.DrainTimeout = "127.0.0.1:0", "127.0.0.1:0", 5*time.Second
	return o
}

func started(t *testing.T, o service.Options) *service.App {
	t.Helper()
	app, err := service.New(o)
	require.NoError(t, err)
	require.NoError(t, app.Start(t.Context()))
	t.Cleanup(func() { require.NoError(t, app.Stop(context.Background())) })
	return app
}

func dial(t *testing.T, addr string) *grpc.ClientConn {
	t.Helper()
	conn, err := grpc.NewClient(addr, grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

func get(t *testing.T, client *http.Client, url string) (int, string) {
	t.Helper()
	response, err := client.Get(url)
	require.NoError(t, err)
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	return response.StatusCode, string(body)
}

func three() *tailboundv1.AssessGroupRequest {
	r := &tailboundv1.AssessGroupRequest{Unit: "mg/m3", Limit: &tailboundv1.Limit{Value: 2}}
	for _, v := range []float64{0.1, 0.2, 0.4} {
		r.Readings = append(r.Readings, &tailboundv1.Reading{Result: &tailboundv1.Reading_Value{Value: v}})
	}
	return r
}

// TestBothFaces: the same service answers over gRPC, over REST and inside the process.
func TestBothFaces(t *testing.T) {
	t.Parallel()
	app := started(t, onFreePorts())
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	overGRPC, err := tailboundv1.NewAssessmentServiceClient(dial(t, app.GRPCAddr())).AssessGroup(t.Context(), three())
	require.NoError(t, err)
	require.Equal(t, int32(3), overGRPC.GetSample().GetReadings())

	body := `{"readings":[{"value":0.1},{"value":0.2},{"value":0.4}],"unit":"mg/m3","limit":{"value":2}}`
	response, err := client.Post("http://"+app.HTTPAddr()+"/v1/groups:assess", "application/json", strings.NewReader(body))
	require.NoError(t, err)
	defer response.Body.Close()
	require.Equal(t, http.StatusOK, response.StatusCode)

	conn, closeAll, err := service.Embedded(service.DefaultOptions())
	require.NoError(t, err)
	inside, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroup(t.Context(), three())
	require.NoError(t, err)
	require.Equal(t, overGRPC.String(), inside.String())
	require.NoError(t, closeAll())

	code, text := get(t, client, "http://"+app.HTTPAddr()+"/healthz")
	require.Equal(t, http.StatusOK, code, text)
	for _, name := range []string{"", "tailbound.v1.AssessmentService"} {
		health, err := healthgrpc.NewHealthClient(dial(t, app.GRPCAddr())).Check(t.Context(), &healthgrpc.HealthCheckRequest{Service: name})
		require.NoError(t, err)
		require.Equal(t, healthgrpc.HealthCheckResponse_SERVING, health.GetStatus())
	}
}

func TestReflection(t *testing.T) {
	t.Parallel()
	app := started(t, onFreePorts())
	stream, err := reflectiongrpc.NewServerReflectionClient(dial(t, app.GRPCAddr())).ServerReflectionInfo(t.Context())
	require.NoError(t, err)
	require.NoError(t, stream.Send(&reflectiongrpc.ServerReflectionRequest{
		MessageRequest: &reflectiongrpc.ServerReflectionRequest_ListServices{},
	}))
	answer, err := stream.Recv()
	require.NoError(t, err)
	require.Contains(t, answer.String(), "tailbound.v1.AssessmentService")
	require.NoError(t, stream.CloseSend())
}

// TestLimits: the options reach the handlers of both faces.
func TestLimits(t *testing.T) {
	t.Parallel()
	o := onFreePorts()
	o.MaxReadings, o.MaxMessageBytes = 2, 1000
	app := started(t, o)
	client := tailboundv1.NewAssessmentServiceClient(dial(t, app.GRPCAddr()))
	_, err := client.AssessGroup(t.Context(), three())
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
	require.Contains(t, err.Error(), "at most 2")
	_, err = client.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: strings.Repeat("x", 1000)})
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
	response, err := http.Post("http://"+app.HTTPAddr()+"/v1/groups:assess", "", strings.NewReader(strings.Repeat(" ", 1001)))
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	http.DefaultClient.CloseIdleConnections()
	require.Equal(t, http.StatusRequestEntityTooLarge, response.StatusCode)
}

// TestOneFace: an empty address serves nothing.
func TestOneFace(t *testing.T) {
	t.Parallel()
	o := onFreePorts()
	o.HTTPAddr = ""
	app := started(t, o)
	require.NotEmpty(t, app.GRPCAddr())
	require.Empty(t, app.HTTPAddr())
}

func TestStartFailsWhole(t *testing.T) {
	t.Parallel()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	o := onFreePorts()
	o.HTTPAddr = taken.Addr().String()
	app, err := service.New(o)
	require.NoError(t, err)
	err = app.Run(t.Context())
	require.ErrorContains(t, err, "serving HTTP on "+o.HTTPAddr)
	_, err = net.Dial("tcp", app.GRPCAddr())
	require.Error(t, err, "gRPC was closed again")
}

func TestOptionsAreChecked(t *testing.T) {
	t.Parallel()
	_, err := service.New(service.Options{DrainTimeout: -1, RequestTimeout: -1, StreamIdleTimeout: -1})
	for _, name := range []string{"MaxMessageBytes", "MaxReadings", "DrainTimeout", "RequestTimeout", "StreamIdleTimeout", "MaxConcurrentStreams"} {
		require.ErrorContains(t, err, name)
	}
	_, _, err = service.Embedded(service.Options{})
	require.Error(t, err)
}

// journal is a log that a test may read while the service writes.
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

// TestRunDrains: when the context ends, health turns, calls under way end well, new ones are refused, and Run returns nil.
func TestRunDrains(t *testing.T) {
	t.Parallel()
	o, written := onFreePorts(), new(journal)
	o.Logger = slog.New(slog.NewTextHandler(written, nil))
	app, err := service.New(o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- app.Run(ctx) }()
	require.Eventually(t, func() bool { return strings.Contains(written.String(), "serving") }, 5*time.Second, time.Millisecond)

	conn := dial(t, app.GRPCAddr())
	stream, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroups(t.Context())
	require.NoError(t, err)
	ask := func() {
		require.NoError(t, stream.Send(&tailboundv1.AssessGroupsRequest{Group: three()}))
		answer, err := stream.Recv()
		require.NoError(t, err)
		require.NotNil(t, answer.GetResult())
	}
	ask()
	watch, err := healthgrpc.NewHealthClient(conn).Watch(t.Context(), &healthgrpc.HealthCheckRequest{})
	require.NoError(t, err)
	requireHealth(t, watch, healthgrpc.HealthCheckResponse_SERVING)
	response, body := openLines(t, app)

	cancel()
	requireHealth(t, watch, healthgrpc.HealthCheckResponse_NOT_SERVING)
	ask()
	require.NoError(t, stream.CloseSend())
	_, err = stream.Recv()
	require.ErrorIs(t, err, io.EOF)
	_, err = io.WriteString(body, `{"readings":[{"value":2}]}`)
	require.NoError(t, err)
	require.NoError(t, body.Close())
	text, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	require.Contains(t, string(text), `{"end":{"answered":2}}`)
	require.NoError(t, conn.Close(), "the open watch would hold the drain")
	require.NoError(t, <-ran)
	require.NotContains(t, written.String(), "level=ERROR")
}

func requireHealth(t *testing.T, watch grpc.ServerStreamingClient[healthgrpc.HealthCheckResponse], want healthgrpc.HealthCheckResponse_ServingStatus) {
	t.Helper()
	got, err := watch.Recv()
	require.NoError(t, err)
	require.Equal(t, want, got.GetStatus())
}

// openLines opens a stream over REST and returns it when the first of its lines is being answered.
func openLines(t *testing.T, app *service.App) (*http.Response, *io.PipeWriter) {
	t.Helper()
	lines, body := io.Pipe()
	go func() { _, _ = io.WriteString(body, `{"readings":[{"value":1}]}`+"\n") }()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	response, err := client.Post("http://"+app.HTTPAddr()+"/v1/groups:assessAll", "", lines)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, response.Body.Close()) })
	return response, body
}

// TestStopCuts: what does not end by itself is cut when the drain is over.
func TestStopCuts(t *testing.T) {
	t.Parallel()
	o := onFreePorts()
	o.DrainTimeout = 50 * time.Millisecond
	app, err := service.New(o)
	require.NoError(t, err)
	require.NoError(t, app.Start(t.Context()))
	conn := dial(t, app.GRPCAddr())
	watch, err := healthgrpc.NewHealthClient(conn).Watch(t.Context(), &healthgrpc.HealthCheckRequest{})
	require.NoError(t, err)
	requireHealth(t, watch, healthgrpc.HealthCheckResponse_SERVING)
	response, body := openLines(t, app)
	start := time.Now()
	require.NoError(t, app.Stop(t.Context()))
	require.Less(t, time.Since(start), 2*time.Second)
	require.NoError(t, app.Stop(t.Context()), "a second stop does nothing")
	text, err := io.ReadAll(response.Body)
	require.Error(t, err)
	require.NotContains(t, string(text), `"end"`)
	require.NoError(t, body.CloseWithError(errors.New("done")))
	requireHealth(t, watch, healthgrpc.HealthCheckResponse_NOT_SERVING)
	_, err = watch.Recv()
	require.Error(t, err)
}
