package polyglot_test

import (
	"encoding/base64"
	"encoding/json"
	"iter"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// visit is what the Go client makes of what a visit brings back, by the names that client.py gives the answers.
func (s *server) visit(t *testing.T) map[string]proto.Message {
	t.Helper()
	ctx, c := t.Context(), s.client
	results, err := c.ReadResults(ctx, &tailboundv1.ReadResultsRequest{Name: "results.csv", Content: []byte(read(t, "results.csv"))})
	require.NoError(t, err)
	require.Len(t, results.GetGroups(), 1)
	assessed, err := c.AssessGroup(ctx, results.GetGroups()[0])
	require.NoError(t, err)
	log, err := c.ReadLog(ctx, &tailboundv1.ReadLogRequest{Name: "log.csv", Content: []byte(read(t, "log.csv"))})
	require.NoError(t, err)
	header := &tailboundv1.TraceHeader{Channels: log.GetChannels(), Zone: "bay 3"}
	reduced, err := c.ReduceTrace(ctx, header, one(log.GetValues()))
	require.NoError(t, err)
	rate, err := c.EstimateAirChange(ctx, message[tailboundv1.EstimateAirChangeRequest](t, "decay.json"))
	require.NoError(t, err)
	whole, err := c.RenderReport(ctx, &tailboundv1.RenderReportRequest{Groups: results.GetGroups(), Title: "Spring"})
	require.NoError(t, err)
	picture := message[tailboundv1.PlotGroupRequest](t, "whole.json")
	figure, err := c.PlotGroup(ctx, picture)
	require.NoError(t, err)
	options, err := c.AssessGroup(ctx, picture.GetGroup())
	require.NoError(t, err)
	trace, err := c.PlotTrace(ctx, &tailboundv1.PlotTraceHeader{Trace: header}, one(log.GetValues()))
	require.NoError(t, err)
	return map[string]proto.Message{
		"results": results, "assessed": &tailboundv1.AssessGroupsResponse{
			Index: new(int32(0)), Answer: &tailboundv1.AssessGroupsResponse_Result{Result: assessed},
		},
		"log": log, "reduced": reduced, "rate": rate, "whole": whole, "figure": figure, "trace": trace, "options": options,
	}
}

// one is a trace in one part.
func one(values *tailboundv1.TraceValues) iter.Seq2[*tailboundv1.TraceValues, error] {
	return func(yield func(*tailboundv1.TraceValues, error) bool) { yield(values, nil) }
}

func message[M any, P interface {
	*M
	proto.Message
}](t *testing.T, file string) P {
	t.Helper()
	m := P(new(M))
	require.NoError(t, protojson.Unmarshal([]byte(read(t, file)), m))
	return m
}

// TestVisitAgreesWithTheHandbook ties to the outside what the other clients are compared with.
func TestVisitAgreesWithTheHandbook(t *testing.T) {
	t.Parallel()
	seen := start(t).visit(t)
	// As in TestGoClientAgreesWithTheHandbook: the file has the same eight readings and a row that cannot be read.
	results := seen["results"].(*tailboundv1.ReadResultsResponse)
	require.EqualValues(t, 1, results.GetRejectedRows())
	require.EqualValues(t, 7, results.GetRejected()[0].GetLine())
	answer := seen["assessed"].(*tailboundv1.AssessGroupsResponse).GetResult()
	require.InEpsilon(t, 34.51727, answer.GetPercentile().GetEstimate(), 2e-7)
	require.Contains(t, answer.String(), "1 of 9 rows", "what was left out of the file follows its readings")
	options := seen["options"].(*tailboundv1.AssessGroupResponse)
	require.NotEmpty(t, options.GetCurves().GetExceedances())
	require.Contains(t, options.String(), "One row of the file was left out.")
	// The readings of whole.json are the same in ascending order through one shift: they depend on each other and are taken all the same.
	require.Contains(t, options.String(), "dependent-readings")
	require.InEpsilon(t, 34.51727, options.GetPercentile().GetEstimate(), 2e-7)
	// (10 + 30 + 30) ppm over the three minutes that have a value.
	reduced := seen["reduced"].(*tailboundv1.ReduceTraceResponse).GetReadings()[0]
	require.InEpsilon(t, 70.0/3, reduced.GetReading().GetValue(), 1e-14)
	require.Equal(t, 0.75, reduced.GetCoverage())
	// The excess over 420 ppm halves every half hour: 2 ln 2 an hour.
	require.InEpsilon(t, 1.3862943611198906, seen["rate"].(*tailboundv1.EstimateAirChangeResponse).GetRate().GetEstimate(), 1e-14)
}

// requireVisit holds the answers of client.py against those of the Go client.
func (s *server) requireVisit(t *testing.T, got map[string]json.RawMessage) {
	t.Helper()
	want := s.visit(t)
	require.Len(t, got, len(want))
	for name, w := range want {
		g := w.ProtoReflect().New().Interface()
		require.NoError(t, protojson.Unmarshal(got[name], g), name)
		// By bytes, as NaN, a row without a reading, does not equal itself.
		require.Equal(t, canonical(t, w), canonical(t, g), name)
	}
}

func canonical(t *testing.T, m proto.Message) string {
	t.Helper()
	b, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	require.NoError(t, err)
	return string(b)
}

// TestCurlGetsDocuments: over REST an answer that is a document is its bytes, the same as over gRPC.
func TestCurlGetsDocuments(t *testing.T) {
	t.Parallel()
	curl := tool(t, "curl")
	server := start(t)
	ctx, c := t.Context(), server.client
	group := group(t, read(t, "group.json"))
	sides := &tailboundv1.CompareCampaignsRequest{Unit: "ppb", Campaigns: []*tailboundv1.Campaign{
		{Name: "spring", Readings: group.GetReadings()}, {Name: "fall", Readings: group.GetReadings()[:5]},
	}}
	plan := &tailboundv1.PlanSamplingRequest{
		Limit: &tailboundv1.Limit{Value: 1}, GeometricMean: new(0.2), GeometricStandardDeviation: new(2.0), SamplesUpper: new(int32(8)),
	}
	logged := &tailboundv1.TraceValues{Times: []*timestamppb.Timestamp{{Seconds: 1773036000}, {Seconds: 1773036060}}, Values: []float64{10, 20}}
	header := &tailboundv1.PlotTraceHeader{Trace: &tailboundv1.TraceHeader{Channels: []*tailboundv1.TraceChannel{{Agent: "CO", Unit: "ppm"}}}}
	type answer interface {
		GetDocument() *tailboundv1.Document
	}
	of := func(a answer, err error) *tailboundv1.Document {
		require.NoError(t, err)
		return a.GetDocument()
	}
	type call struct {
		path     string
		requests []proto.Message
		want     *tailboundv1.Document
		media    string
	}
	report := &tailboundv1.RenderReportRequest{Groups: []*tailboundv1.AssessGroupRequest{group}}
	calls := []call{{"/v1/groups:report", []proto.Message{report}, of(c.RenderReport(ctx, report)), "text/html; charset=utf-8"}}
	for format, media := range map[tailboundv1.ImageFormat]string{
		tailboundv1.ImageFormat_IMAGE_FORMAT_SVG: "image/svg+xml", tailboundv1.ImageFormat_IMAGE_FORMAT_PNG: "image/png",
	} {
		header := proto.CloneOf(header)
		header.Format = format
		campaigns := &tailboundv1.PlotCampaignsRequest{Comparison: sides, Format: format}
		sampling := &tailboundv1.PlotSamplingRequest{Plan: plan, Format: format}
		calls = append(calls,
			call{"/v1/campaigns:plot", []proto.Message{campaigns}, of(c.PlotCampaigns(ctx, campaigns)), media},
			call{"/v1/sampling:plot", []proto.Message{sampling}, of(c.PlotSampling(ctx, sampling)), media},
			call{"/v1/traces:plot", []proto.Message{
				&tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Header{Header: header}},
				&tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Values{Values: logged}},
			}, of(c.PlotTrace(ctx, header, one(logged))), media},
		)
		for figure := range tailboundv1.GroupFigure_name {
			r := &tailboundv1.PlotGroupRequest{Group: group, Figure: tailboundv1.GroupFigure(figure), Format: format}
			calls = append(calls, call{"/v1/groups:plot", []proto.Message{r}, of(c.PlotGroup(ctx, r)), media})
		}
	}
	for _, c := range calls {
		var body strings.Builder
		for _, r := range c.requests {
			text, err := protojson.Marshal(r)
			require.NoError(t, err)
			body.WriteString(string(text) + "\n")
		}
		whole := run(t, body.String(), curl, "--silent", "--show-error", "--max-time", "30", "--include", "--data-binary", "@-",
			"--header", "Expect:", "http://"+server.http+c.path)
		headers, got, _ := strings.Cut(string(whole), "\r\n\r\n")
		told := strings.Split(headers, "\r\n")
		require.Equal(t, "HTTP/1.1 200 OK", told[0], got)
		require.True(t, slices.Contains(told, "Content-Type: "+c.media), "%s: %s", c.path, headers)
		require.True(t, slices.Contains(told, "X-Content-Type-Options: nosniff"), "%s: %s", c.path, headers)
		require.Equal(t, c.media, c.want.GetMediaType())
		require.Equal(t, string(c.want.GetContent()), got, "%s: the bytes are those of gRPC", c.path)
	}
}

func TestNode(t *testing.T) {
	t.Parallel()
	node := tool(t, "node")
	if exec.CommandContext(t.Context(), node, "-e", `require("@grpc/grpc-js"); require("@grpc/proto-loader")`).Run() != nil {
		missing(t, "node finds no @grpc/grpc-js and @grpc/proto-loader under NODE_PATH")
	}
	server := start(t)
	var seen struct {
		Unary struct {
			Percentile struct{ Estimate, Upper float64 }
		}
		Stream []struct {
			Index  int
			Result *struct {
				Percentile struct{ Estimate float64 }
				Decision   struct{ Outcome string }
			}
			Error *struct{ Code int }
		}
		Figure struct{ MediaType, Content string }
		Error  struct {
			Code    int
			Message string
			Details json.RawMessage
		}
	}
	require.NoError(t, json.Unmarshal(run(t, "", node, filepath.Join(files, "client.js"), server.grpc, contract, files), &seen))

	want := server.unary(t, "group.json")
	require.Equal(t, want.GetPercentile().GetEstimate(), seen.Unary.Percentile.Estimate)
	require.Equal(t, want.GetPercentile().GetUpper(), seen.Unary.Percentile.Upper)
	require.Len(t, seen.Stream, 3)
	for i, answer := range server.stream(t) {
		got := seen.Stream[i]
		require.Equal(t, i, got.Index)
		if answer.Err != nil {
			require.Nil(t, got.Result)
			require.Equal(t, 3, got.Error.Code)
			continue
		}
		require.Equal(t, answer.Response.GetPercentile().GetEstimate(), got.Result.Percentile.Estimate)
		require.Equal(t, answer.Response.GetDecision().GetOutcome().String(), got.Result.Decision.Outcome)
	}
	figure, err := server.client.PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{
		Group: group(t, read(t, "group.json")), Format: tailboundv1.ImageFormat_IMAGE_FORMAT_PNG,
	})
	require.NoError(t, err)
	require.Equal(t, "image/png", seen.Figure.MediaType)
	require.Equal(t, base64.StdEncoding.EncodeToString(figure.GetDocument().GetContent()), seen.Figure.Content)
	require.Equal(t, 3, seen.Error.Code)
	require.NotEmpty(t, seen.Error.Message)
	requireDetails(t, seen.Error.Details)
}
