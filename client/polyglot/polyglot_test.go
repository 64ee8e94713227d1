// Package polyglot_test runs clients in other languages, kept in testdata/polyglot, against a real server. Each must see what
// the Go client sees, number for number. A tool that is not installed skips its test, and fails it where CI=true.
package polyglot_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	_ "google.golang.org/genproto/googleapis/rpc/errdetails" // So that protojson can read the details.
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

const (
	contract = "../../proto"
	files    = "../../testdata/polyglot"
)

// wrong is what every client must be told of the bad group.
var wrong = []client.Violation{
	{Field: "readings[1].value"},
	{Field: "readings[2]"},
}

// TestGoClientAgreesWithTheHandbook ties the answer that the others are compared with to the outside.
func TestGoClientAgreesWithTheHandbook(t *testing.T) {
	t.Parallel()
	server := start(t)
	whole := server.unary(t, "group.json")
	// EPA Unified Guidance (530/R-09-007, 2009), example 17-3: mean and standard deviation of the logs 2.5085773 and
	// 0.6279479, 95th percentile 34.51727, its upper 95 % limit 90.9247.
	require.InEpsilon(t, 12.28744, whole.GetFit().GetGeometricMean().GetEstimate(), 5e-7)
	require.InEpsilon(t, 1.87376, whole.GetFit().GetGeometricStandardDeviation().GetEstimate(), 3e-6)
	require.InEpsilon(t, 34.51727, whole.GetPercentile().GetEstimate(), 2e-7)
	require.InEpsilon(t, 90.9247, whole.GetPercentile().GetUpper(), 6e-7)
	// The statistic (ln L - mean)/s is 2.102 at 46 and 2.067 at 45; n = 8 needs 2.072 (French order of 15 December 2009,
	// annex 2).
	require.Equal(t, tailboundv1.Outcome_OUTCOME_COMPLIANT, whole.GetDecision().GetOutcome())

	answers := server.stream(t)
	require.Len(t, answers, 3)
	require.True(t, proto.Equal(whole, answers[0].Response))
	var failure *client.Error
	require.ErrorAs(t, answers[1].Err, &failure)
	requireViolations(t, failure.Violations)
	require.Equal(t, tailboundv1.Outcome_OUTCOME_NOT_COMPLIANT, answers[2].Response.GetDecision().GetOutcome())
}

func TestPython(t *testing.T) {
	t.Parallel()
	python := pythonWithGRPC(t)
	protoc, plugin := tool(t, "protoc"), tool(t, "grpc_python_plugin")
	stubs := t.TempDir()
	sources, err := filepath.Glob(contract + "/tailbound/v1/*.proto")
	require.NoError(t, err)
	run(t, "", protoc, append(sources, files+"/details.proto", "--proto_path="+contract, "--proto_path="+files,
		"--python_out="+stubs, "--grpc_python_out="+stubs, "--plugin=protoc-gen-grpc_python="+plugin)...)

	server := start(t)
	var seen struct {
		Unary   json.RawMessage
		Stream  []json.RawMessage
		Visit   map[string]json.RawMessage
		Serving bool
		Error   struct {
			Code, Message string
			Details       json.RawMessage
		}
	}
	output := run(t, "", python, files+"/client.py", server.grpc, stubs, files)
	require.NoError(t, json.Unmarshal(output, &seen))

	server.requireUnary(t, seen.Unary)
	server.requireStream(t, seen.Stream)
	server.requireVisit(t, seen.Visit)
	require.True(t, seen.Serving)
	require.Equal(t, "INVALID_ARGUMENT", seen.Error.Code)
	require.NotEmpty(t, seen.Error.Message)
	requireDetails(t, seen.Error.Details)
}

func TestGrpcurl(t *testing.T) {
	t.Parallel()
	grpcurl := tool(t, "grpcurl")
	server := start(t)
	const service = "tailbound.v1.AssessmentService"

	listed := strings.Fields(string(run(t, "", grpcurl, "-plaintext", server.grpc, "list")))
	for _, name := range []string{
		"grpc.health.v1.Health", service, "tailbound.v1.ComparisonService", "tailbound.v1.PlanningService",
		"tailbound.v1.TraceService", "tailbound.v1.IntakeService", "tailbound.v1.ReportService",
	} {
		require.True(t, slices.Contains(listed, name), "%s is not among %v", name, listed)
	}
	require.Contains(t, string(run(t, "", grpcurl, "-plaintext", server.grpc, "describe", service)), "rpc AssessGroups ( stream ")
	require.JSONEq(t, `{"status": "SERVING"}`, string(run(t, "", grpcurl, "-plaintext", server.grpc, "grpc.health.v1.Health/Check")))

	var rate tailboundv1.EstimateAirChangeResponse
	answer := run(t, read(t, "decay.json"), grpcurl, "-plaintext", "-d", "@", server.grpc, "tailbound.v1.TraceService/EstimateAirChange")
	require.NoError(t, protojson.Unmarshal(answer, &rate))
	require.True(t, proto.Equal(server.visit(t)["rate"], &rate), string(answer))

	server.requireUnary(t, run(t, read(t, "group.json"), grpcurl, "-plaintext", "-d", "@", server.grpc, service+"/AssessGroup"))

	var requests strings.Builder
	for _, line := range lines(read(t, "groups.ndjson")) {
		requests.WriteString(`{"group": ` + line + "}\n")
	}
	streamed := run(t, requests.String(), grpcurl, "-plaintext", "-d", "@", server.grpc, service+"/AssessGroups")
	server.requireStream(t, values(t, streamed))

	failed := command(t, read(t, "invalid.json"), grpcurl, "-plaintext", "-format-error", "-d", "@", server.grpc, service+"/AssessGroup")
	var stderr bytes.Buffer
	failed.Stderr = &stderr
	require.Error(t, failed.Run())
	var status struct {
		Code    int
		Details json.RawMessage
	}
	require.NoError(t, json.Unmarshal(stderr.Bytes(), &status), stderr.String())
	require.Equal(t, 3, status.Code)
	requireDetails(t, status.Details)
}

func TestCurl(t *testing.T) {
	t.Parallel()
	curl := tool(t, "curl")
	server := start(t)
	post := func(path, file string) (code, contentType string, body []byte) {
		output := run(t, "", curl, "--silent", "--show-error", "--max-time", "30", "--data-binary", "@"+files+"/"+file,
			"--header", "Content-Type: application/json", "--write-out", "\n%{http_code} %{content_type}",
			"http://"+server.http+path)
		cut := bytes.LastIndexByte(output, '\n')
		code, contentType, _ = strings.Cut(string(output[cut+1:]), " ")
		return code, contentType, output[:cut]
	}

	code, kind, body := post("/v1/groups:assess", "group.json")
	require.Equal(t, "200", code, string(body))
	require.Contains(t, kind, "application/json")
	server.requireUnary(t, body)

	code, _, body = post("/v1/groups:assess", "invalid.json")
	require.Equal(t, "400", code)
	var status struct {
		Code    int
		Message string
		Details json.RawMessage
	}
	require.NoError(t, json.Unmarshal(body, &status), string(body))
	require.Equal(t, 3, status.Code)
	require.NotEmpty(t, status.Message)
	requireDetails(t, status.Details)

	code, _, body = post("/v1/groups:assessAll", "groups.ndjson")
	require.Equal(t, "200", code, string(body))
	answers := lines(string(body))
	require.Len(t, answers, 4)
	require.JSONEq(t, `{"end": {"answered": 3}}`, answers[3], "an answer without it was cut")
	streamed := make([]json.RawMessage, 3)
	for i := range streamed {
		streamed[i] = json.RawMessage(answers[i])
	}
	server.requireStream(t, streamed)
}

// requireUnary holds an answer in JSON against the Go client's.
func (s *server) requireUnary(t *testing.T, answer []byte) {
	t.Helper()
	var got tailboundv1.AssessGroupResponse
	require.NoError(t, protojson.Unmarshal(answer, &got), string(answer))
	require.True(t, proto.Equal(s.unary(t, "group.json"), &got), string(answer))
}

// requireStream holds the answers of a stream in JSON against the Go client's.
func (s *server) requireStream(t *testing.T, answers []json.RawMessage) {
	t.Helper()
	want := s.stream(t)
	require.Len(t, answers, len(want))
	for i, answer := range answers {
		var got tailboundv1.AssessGroupsResponse
		require.NoError(t, protojson.Unmarshal(answer, &got), string(answer))
		require.NotNil(t, got.Index)
		require.EqualValues(t, i, got.GetIndex())
		var failure *client.Error
		if want[i].Err == nil {
			require.True(t, proto.Equal(want[i].Response, got.GetResult()), string(answer))
			continue
		}
		require.ErrorAs(t, want[i].Err, &failure)
		require.EqualValues(t, failure.Code, got.GetError().GetCode())
		require.Equal(t, failure.Message, got.GetError().GetMessage())
		require.True(t, proto.Equal(failure.GRPCStatus().Proto().GetDetails()[0], got.GetError().GetDetails()[0]), string(answer))
	}
}

// requireDetails reads the details of a status in JSON: one google.rpc.BadRequest with the paths of the fields.
func requireDetails(t *testing.T, details []byte) {
	t.Helper()
	var bad []struct {
		Type            string `json:"@type"`
		FieldViolations []client.Violation
	}
	require.NoError(t, json.Unmarshal(details, &bad), string(details))
	require.Len(t, bad, 1)
	require.Equal(t, "type.googleapis.com/google.rpc.BadRequest", bad[0].Type)
	requireViolations(t, bad[0].FieldViolations)
}

func requireViolations(t *testing.T, got []client.Violation) {
	t.Helper()
	require.Len(t, got, len(wrong), "%v", got)
	for i, v := range got {
		require.Equal(t, wrong[i].Field, v.Field)
		require.NotEmpty(t, v.Description)
	}
}

// tool finds a program. Where it is missing the test is skipped on a developer's machine and fails in CI, so that nobody
// takes silence for success.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, name+" is not installed")
	}
	return path
}

func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		require.FailNow(t, what, "CI must run every foreign client")
	}
	t.Skipf("%s: this client was NOT tested", what)
}

// pythonWithGRPC finds a Python that has gRPC: the first on the path may be one of a version manager without Debian's packages.
func pythonWithGRPC(t *testing.T) string {
	t.Helper()
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.CommandContext(t.Context(), python, "-c", "import grpc, google.protobuf").Run() == nil {
			return python
		}
	}
	missing(t, "no python3 has grpc and google.protobuf")
	return ""
}

func command(t *testing.T, stdin, name string, arguments ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	c := exec.CommandContext(ctx, name, arguments...)
	c.Stdin = strings.NewReader(stdin)
	return c
}

// run returns what a program writes to standard output.
func run(t *testing.T, stdin, name string, arguments ...string) []byte {
	t.Helper()
	c := command(t, stdin, name, arguments...)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	output, err := c.Output()
	require.NoError(t, err, "%s\n%s%s", c, stderr.String(), output)
	return output
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(files, name))
	require.NoError(t, err)
	return string(text)
}

func lines(text string) []string { return strings.Split(strings.TrimSpace(text), "\n") }

// values splits a run of JSON values.
func values(t *testing.T, text []byte) []json.RawMessage {
	t.Helper()
	var all []json.RawMessage
	decoder := json.NewDecoder(bytes.NewReader(text))
	for decoder.More() {
		var value json.RawMessage
		require.NoError(t, decoder.Decode(&value))
		all = append(all, value)
	}
	return all
}
