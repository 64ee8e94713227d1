package rest_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/test/bufconn"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rest"
	"example.com/tailbound/service/rpc"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// stack is the REST face over a real gRPC server in memory.
type stack struct {
	url    string
	client *http.Client
	http   *httptest.Server
	grpc   *grpc.Server
	probe  *health.Server
}

func newStack(tb testing.TB, o rest.Options, register func(*grpc.Server)) *stack {
	tb.Helper()
	s := &stack{probe: health.NewServer()}
	s.grpc = grpc.NewServer(append(rpc.Interceptors(nil, time.Minute), grpc.MaxRecvMsgSize(o.MaxMessageBytes))...)
	register(s.grpc)
	healthgrpc.RegisterHealthServer(s.grpc, s.probe)
	listener := bufconn.Listen(1 << 18)
	go func() { _ = s.grpc.Serve(listener) }()
	conn, err := grpc.NewClient("passthrough:///memory", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }))
	require.NoError(tb, err)
	handler, err := rest.New(conn, o)
	require.NoError(tb, err)
	s.http = httptest.NewUnstartedServer(handler)
	// The cuts that the tests make would fill the output.
	s.http.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	// Small buffers in the kernel make a client that does not read felt at once.
	s.http.Config.ConnContext = func(ctx context.Context, c net.Conn) context.Context {
		_ = errors.Join(c.(*net.TCPConn).SetReadBuffer(64<<10), c.(*net.TCPConn).SetWriteBuffer(64<<10))
		return ctx
	}
	s.http.Start()
	s.url, s.client = s.http.URL, s.http.Client()
	tb.Cleanup(func() {
		s.client.CloseIdleConnections()
		s.http.Close()
		require.NoError(tb, conn.Close())
		s.grpc.Stop()
	})
	return s
}

// whole is the stack with the service of the project.
func whole(tb testing.TB, change ...func(*rest.Options)) *stack {
	tb.Helper()
	o := rest.Options{MaxMessageBytes: 64 << 10, RequestTimeout: time.Minute, StreamIdleTimeout: time.Minute}
	for _, c := range change {
		c(&o)
	}
	return newStack(tb, o, func(s *grpc.Server) { rpc.New(rpc.Options{MaxReadings: 1000}).Register(s) })
}

type answer struct {
	code   int
	header http.Header
	body   string
}

func (s *stack) do(t *testing.T, method, path, body string, headers ...string) answer {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, s.url+path, strings.NewReader(body))
	require.NoError(t, err)
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	response, err := s.client.Do(r)
	require.NoError(t, err)
	defer response.Body.Close()
	data, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	return answer{response.StatusCode, response.Header, string(data)}
}

const three = `{"readings":[{"value":0.1},{"value":0.2},{"value":0.4}],"unit":"mg/m3","limit":{"value":2}}`

func TestAssess(t *testing.T) {
	t.Parallel()
	a := whole(t).do(t, http.MethodPost, "/v1/groups:assess", three, "X-Request-Id", "caller-7")
	require.Equal(t, http.StatusOK, a.code, a.body)
	require.Equal(t, "application/json", a.header.Get("Content-Type"))
	require.Equal(t, "caller-7", a.header.Get("X-Request-Id"))
	require.Empty(t, a.header.Get("Grpc-Metadata-Content-Type"))
	var got struct {
		Sample     struct{ Readings, Below int }
		Percentile struct{ Estimate, Upper float64 }
		Decision   struct{ Rule, Outcome string }
	}
	require.NoError(t, json.Unmarshal([]byte(a.body), &got))
	require.Equal(t, 3, got.Sample.Readings)
	require.Greater(t, got.Percentile.Upper, got.Percentile.Estimate)
	require.Equal(t, "RULE_EN689", got.Decision.Rule)
	require.Contains(t, a.body, `"below":0`, "zeros are written")
	require.NotContains(t, a.body, `": `)

	again := whole(t).do(t, http.MethodPost, "/v1/groups:assess", three)
	require.Equal(t, a.body, again.body, "same input, same bytes")
	require.NotEmpty(t, again.header.Get("X-Request-Id"))
}

type problem struct {
	Code    int
	Message string
	Details []struct {
		Type            string `json:"@type"`
		FieldViolations []struct{ Field, Description string }
	}
}

// TestErrors: every refusal is a JSON body {code, message, details} under a fitting status.
func TestErrors(t *testing.T) {
	t.Parallel()
	s := whole(t)
	for _, c := range []struct {
		name, method, path, body string
		status, code             int
		message, field           string
	}{
		{"invalid", "POST", "/v1/groups:assess", `{"readings":[{"value":1},{"value":-1}]}`, 400, 3, "readings[1].value: is -1", "readings[1].value"},
		{"NaN", "POST", "/v1/groups:assess", `{"readings":[{"value":"NaN"}]}`, 400, 3, "readings[0].value: is NaN", "readings[0].value"},
		{"infinite", "POST", "/v1/groups:assess", `{"readings":[{"above":"Infinity"}],"percentile":"-Infinity"}`, 400, 3, "percentile: is -Inf", "percentile"},
		{"units", "POST", "/v1/groups:assess", `{"readings":[{"value":1}],"unit":"ppm","limit":{"value":1,"unit":"mg/m3"}}`, 400, 3, "limit.unit", "limit.unit"},
		{"unknown field", "POST", "/v1/groups:assess", `{"readings":[],"certainty":0.9}`, 400, 3, `unknown field "certainty"`, "certainty"},
		{"snake case", "POST", "/v1/groups:assess", `{"relative_error":2,"readings":[{"value":1}]}`, 400, 3, "relativeError: is 2", "relativeError"},
		{"unknown rule", "POST", "/v1/groups:assess", `{"rule":"RULE_OF_THUMB"}`, 400, 3, `invalid value for enum field rule: "RULE_OF_THUMB"`, "rule"},
		{"malformed", "POST", "/v1/groups:assess", `{"readings":[`, 400, 3, "not the JSON that this call takes", "body"},
		{"wrong type", "POST", "/v1/groups:assess", `{"readings":[{"value":"much"}]}`, 400, 3, `invalid value for double field value: "much"`, "value"},
		{"two results", "POST", "/v1/groups:assess", `{"readings":[{"value":1,"below":2}]}`, 400, 3, "is already set", "below"},
		{"given twice", "POST", "/v1/groups:assess", `{"unit":"a","unit":"b"}`, 400, 3, `duplicate field "unit"`, "unit"},
		{"empty", "POST", "/v1/groups:assess", ``, 400, 3, "the body is empty", ""},
		{"two objects", "POST", "/v1/groups:assess", three + three, 400, 3, "unexpected token", "body"},
		{"too large", "POST", "/v1/groups:assess", strings.Repeat(" ", 65<<10), 413, 8, "more than 65536 bytes", ""},
		{"too many", "POST", "/v1/groups:assess", `{"readings":[` + strings.Repeat(`{"value":1},`, 1000) + `{"value":1}]}`, 413, 8, "at most 1000", "readings"},
		{"partition", "POST", "/v1/groups:partition", `{}`, 400, 3, "readings: is empty", "readings"},
		{"compare", "POST", "/v1/campaigns:compare", `{}`, 400, 3, "campaigns: has 0 entries", "campaigns"},
		{"plan", "POST", "/v1/sampling:plan", `{}`, 400, 3, "asks nothing", ""},
		{"reduce", "POST", "/v1/traces:reduce", `{}`, 400, 3, "header: is missing", "header"},
		{"reduce nothing", "POST", "/v1/traces:reduce", ``, 400, 3, "header: is missing", "header"},
		{"reduce later line", "POST", "/v1/traces:reduce", traceHeader + "\n\n{\"values\":{\"times\":[1]}}", 400, 3, "line 3: not the JSON", "body"},
		{"reduce row", "POST", "/v1/traces:reduce", traceHeader + "\n" + `{"values":{"times":["2026-03-09T06:00:00Z"]}}`, 400, 3, "values.values: has 0 entries for 1 rows", "values.values"},
		{"plot", "POST", "/v1/groups:plot", `{}`, 400, 3, "group.readings: is empty", "group.readings"},
		{"plot nothing", "POST", "/v1/groups:plot", `{"group":{"readings":[{"below":1}]},"figure":"GROUP_FIGURE_EXCEEDANCE"}`, 400, 9, "there is nothing to draw", ""},
		{"plot campaigns", "POST", "/v1/campaigns:plot", `{}`, 400, 3, "comparison.campaigns: has 0 entries", "comparison.campaigns"},
		{"plot sampling", "POST", "/v1/sampling:plot", `{}`, 400, 3, "plan: asks nothing", "plan"},
		{"plot trace", "POST", "/v1/traces:plot", ``, 400, 3, "header: is missing", "header"},
		{"plot trace line", "POST", "/v1/traces:plot", "{\"header\":{}}\n{", 400, 3, "line 2: not the JSON", "body"},
		{"report", "POST", "/v1/groups:report", `{}`, 400, 3, "groups", "groups"},
		{"air change", "POST", "/v1/traces:airChange", `{}`, 400, 3, "values: has 0 entries for 0 times; accepted are at least 3", "values"},
		{"wrong method", "GET", "/v1/groups:assess", ``, 405, 12, "takes POST only", ""},
		{"wrong method of a stream", "PUT", "/v1/groups:assessAll", ``, 405, 12, "takes POST only", ""},
		{"wrong method of a page", "DELETE", "/healthz", ``, 405, 12, "takes GET only", ""},
		{"no such path", "POST", "/v2/groups:assess", `{}`, 404, 5, "nothing at this path", ""},
		{"no such verb", "POST", "/v1/groups:guess", `{}`, 404, 5, "nothing at this path", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a := s.do(t, c.method, c.path, c.body)
			require.Equal(t, c.status, a.code, a.body)
			require.Equal(t, "application/json", a.header.Get("Content-Type"))
			require.NotEmpty(t, a.header.Get("X-Request-Id"))
			var p problem
			require.NoError(t, json.Unmarshal([]byte(a.body), &p), a.body)
			require.Equal(t, c.code, p.Code)
			require.Contains(t, p.Message, c.message)
			require.NotContains(t, p.Message, "proto:")
			if c.field != "" {
				require.Equal(t, "type.googleapis.com/google.rpc.BadRequest", p.Details[0].Type)
				require.Equal(t, c.field, p.Details[0].FieldViolations[0].Field)
			}
			if c.status == http.StatusMethodNotAllowed {
				require.NotEmpty(t, a.header.Get("Allow"))
			}
		})
	}
}

func TestCallersDeadline(t *testing.T) {
	t.Parallel()
	a := whole(t).do(t, http.MethodPost, "/v1/groups:assess", three, "Grpc-Timeout", "1n")
	require.Equal(t, http.StatusGatewayTimeout, a.code, a.body)
	a = whole(t).do(t, http.MethodPost, "/v1/groups:assess", three, "Grpc-Timeout", "soon")
	require.Equal(t, http.StatusBadRequest, a.code, a.body)
}

// TestSlowBody: a body that does not come in time is given up.
func TestSlowBody(t *testing.T) {
	t.Parallel()
	s := whole(t, func(o *rest.Options) { o.RequestTimeout = 50 * time.Millisecond })
	conn, err := net.Dial("tcp", s.http.Listener.Addr().String())
	require.NoError(t, err)
	defer conn.Close()
	_, err = fmt.Fprintf(conn, "POST /v1/groups:assess HTTP/1.1\r\nHost: x\r\nContent-Length: 10\r\n\r\n{")
	require.NoError(t, err)
	got, err := io.ReadAll(conn)
	require.NoError(t, err)
	require.Contains(t, string(got), "408 Request Timeout")
	require.Contains(t, string(got), "did not come within 50ms")
}

func TestOpenAPI(t *testing.T) {
	t.Parallel()
	s := whole(t)
	a := s.do(t, http.MethodGet, "/v1/openapi.json", "")
	require.Equal(t, http.StatusOK, a.code)
	require.Equal(t, string(tailboundv1.OpenAPI), a.body)
	require.Equal(t, "application/json", a.header.Get("Content-Type"))
	require.NotEmpty(t, a.header.Get("Cache-Control"))
	again := s.do(t, http.MethodGet, "/v1/openapi.json", "", "If-None-Match", a.header.Get("ETag"))
	require.Equal(t, http.StatusNotModified, again.code)
	require.Empty(t, again.body)
	require.Equal(t, http.StatusOK, s.do(t, http.MethodHead, "/v1/openapi.json", "").code)
}

func TestHealth(t *testing.T) {
	t.Parallel()
	s := whole(t)
	a := s.do(t, http.MethodGet, "/healthz", "")
	require.Equal(t, http.StatusOK, a.code)
	require.Equal(t, `{"status":"SERVING"}`+"\n", a.body)
	s.probe.Shutdown()
	a = s.do(t, http.MethodGet, "/healthz", "")
	require.Equal(t, http.StatusServiceUnavailable, a.code)
	require.Equal(t, `{"status":"NOT_SERVING"}`+"\n", a.body)
}

const traceHeader = `{"header":{"zone":"bay 3","channels":[{"agent":"carbon monoxide","unit":"ppm"}]}}`

// Minutes of 10 and 30 ppm with one without a reading between them.
func TestReduceTrace(t *testing.T) {
	t.Parallel()
	s := whole(t)
	a := s.do(t, http.MethodPost, "/v1/traces:reduce", traceHeader+`
{"values":{"times":["2026-03-09T06:00:00Z","2026-03-09T06:01:00Z"],"values":[10,"NaN"]}}

{"values":{"times":["2026-03-09T06:02:00Z","2026-03-09T06:03:00Z"],"values":[30,30]}}`)
	require.Equal(t, http.StatusOK, a.code, a.body)
	require.Contains(t, a.body, `"reading":{"value":23.333333333333332,"zone":"bay 3","subject":"","campaign":"","start":"2026-03-09T06:00:00Z","duration":"240s","id":""}`)
	require.Contains(t, a.body, `"coverage":0.75`)
	require.NotContains(t, a.body, "NaN")
}

// An answer that is a document is that document.
func TestDocuments(t *testing.T) {
	t.Parallel()
	s := whole(t)
	trace := `{"header":{"trace":{"zone":"bay 3","channels":[{"agent":"carbon monoxide","unit":"ppm"}]}}}
{"values":{"times":["2026-03-09T06:00:00Z","2026-03-09T06:01:00Z"],"values":[10,20]}}`
	sides := `{"comparison":{"campaigns":[{"name":"a","readings":[{"value":1},{"value":2}]},{"name":"b","readings":[{"value":1},{"value":3}]}]}}`
	for _, c := range []struct{ path, body, media, begins string }{
		{"/v1/groups:plot", `{"group":` + three + `}`, "image/svg+xml", "<svg "},
		{"/v1/groups:plot", `{"group":` + three + `,"format":"IMAGE_FORMAT_PNG"}`, "image/png", "\x89PNG"},
		{"/v1/campaigns:plot", sides, "image/svg+xml", "<svg "},
		{"/v1/sampling:plot", `{"plan":{"limit":{"value":1},"geometricMean":0.2,"geometricStandardDeviation":2,"samplesUpper":8}}`, "image/svg+xml", "<svg "},
		{"/v1/traces:plot", trace, "image/svg+xml", "<svg "},
		{"/v1/groups:report", `{"groups":[` + three + `]}`, "text/html; charset=utf-8", "<!"},
	} {
		a := s.do(t, http.MethodPost, c.path, c.body)
		require.Equal(t, http.StatusOK, a.code, a.body)
		require.Equal(t, c.media, a.header.Get("Content-Type"), c.path)
		require.Equal(t, "nosniff", a.header.Get("X-Content-Type-Options"), c.path)
		require.True(t, strings.HasPrefix(a.body, c.begins), "%s: %.40s", c.path, a.body)
	}
	require.Empty(t, s.do(t, http.MethodPost, "/v1/groups:assess", three).header.Get("X-Content-Type-Options"))
}

// The rate from 1420 to 920 and 670 ppm over 420 by the half hour is ln 2 a half hour.
func TestEstimateAirChange(t *testing.T) {
	t.Parallel()
	s := whole(t)
	a := s.do(t, http.MethodPost, "/v1/traces:airChange",
		`{"times":["2026-03-09T18:00:00Z","2026-03-09T18:30:00Z","2026-03-09T19:00:00Z"],"values":[1420,920,670],"background":420,"unit":"ppm","zone":"room 12"}`)
	require.Equal(t, http.StatusOK, a.code, a.body)
	require.Contains(t, a.body, `"rate":{"estimate":1.38629436`)
	require.Contains(t, a.body, `"confidence":0.95,"values":3,"duration":"3600s"`)
	require.Contains(t, a.body, `"zone":"room 12"`)
	require.Contains(t, a.body, `"one-mixed-zone"`)
}

func TestUnavailable(t *testing.T) {
	t.Parallel()
	s := whole(t)
	s.grpc.Stop()
	for _, path := range []string{"/v1/groups:assess", "/v1/groups:assessAll", "/v1/traces:reduce", "/v1/traces:plot"} {
		a := s.do(t, http.MethodPost, path, three)
		require.Equal(t, http.StatusServiceUnavailable, a.code, a.body)
		var p problem
		require.NoError(t, json.Unmarshal([]byte(a.body), &p), a.body)
		require.Equal(t, 14, p.Code)
	}
}

// secured serves the same handler over HTTP/2.
func secured(t *testing.T, s *stack) *httptest.Server {
	t.Helper()
	server := httptest.NewUnstartedServer(s.http.Config.Handler)
	server.EnableHTTP2 = true
	server.StartTLS()
	t.Cleanup(server.Close)
	return server
}
