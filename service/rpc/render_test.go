package rpc

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/request"
)

// rendered asks for a report.
func rendered(t *testing.T, conn *grpc.ClientConn, r *tailboundv1.RenderReportRequest) (string, *tailboundv1.RenderReportResponse) {
	t.Helper()
	answer, err := tailboundv1.NewReportServiceClient(conn).RenderReport(t.Context(), r)
	require.NoError(t, err)
	require.Equal(t, "text/html; charset=utf-8", answer.GetDocument().GetMediaType())
	return string(answer.GetDocument().GetContent()), answer
}

func TestRenderReport(t *testing.T) {
	t.Parallel()
	conn, _ := serve(t, time.Minute, nil)
	asked := &tailboundv1.RenderReportRequest{Title: "Spring & summer", Groups: []*tailboundv1.AssessGroupRequest{dozen(0), dozen(1), dozen(2)}}
	page, answer := rendered(t, conn, asked)
	require.Contains(t, page, "<title>Spring &amp; summer</title>")
	require.Equal(t, request.Digest(asked), answer.GetInputDigest())
	require.Contains(t, page, answer.GetInputDigest())
	require.Contains(t, page, "unknown", "the version of a test")
	first, second, third := strings.Index(page, `id="g1"`), strings.Index(page, `id="g2"`), strings.Index(page, `id="g3"`)
	require.True(t, 0 < first && first < second && second < third)
	require.Contains(t, page[first:second], "group 0")
	require.Contains(t, page[first:second], "<svg xmlns", "curves are drawn although the request does not ask for them")
	again, _ := rendered(t, conn, asked)
	require.Equal(t, page, again)
}

func TestAGroupThatFailsCostsOnlyItself(t *testing.T) {
	t.Parallel()
	conn, written := serve(t, time.Minute, byName)
	wrong := named("wrong")
	wrong.Readings[0] = messages.Value(-1)
	page, _ := rendered(t, conn, &tailboundv1.RenderReportRequest{Groups: []*tailboundv1.AssessGroupRequest{
		named("fine"), named("panic"), named("internal"), named("undetermined"), wrong, named("last"), {},
	}})
	require.Contains(t, page, "the readings do not determine an answer")
	require.Contains(t, page, "readings[0].value: is -1")
	require.Contains(t, page, "readings: is empty")
	require.Equal(t, 2, strings.Count(page, "<p>"+internalText+"</p>"))
	require.Contains(t, page, `7 groups of readings`)
	require.NotContains(t, page, "0.0815")
	require.NotContains(t, page, "disk 7")
	require.Contains(t, written.String(), "0.0815 mg/m3")
	require.Contains(t, written.String(), "disk 7 is full")
}

func TestReportsThatAreRefused(t *testing.T) {
	t.Parallel()
	conn, _ := serve(t, time.Minute, nil)
	one := []*tailboundv1.AssessGroupRequest{dozen(0)}
	for _, c := range []struct {
		name    string
		request *tailboundv1.RenderReportRequest
		code    codes.Code
		text    string
	}{
		{"no group", &tailboundv1.RenderReportRequest{}, codes.InvalidArgument, "groups: is empty"},
		{"too many", &tailboundv1.RenderReportRequest{Groups: make([]*tailboundv1.AssessGroupRequest, 1001)}, codes.ResourceExhausted, "at most 1000"},
		{"long title", &tailboundv1.RenderReportRequest{Groups: one, Title: strings.Repeat("é", 201)}, codes.InvalidArgument, "title: has 201 characters"},
		{"language", &tailboundv1.RenderReportRequest{Groups: one, Language: "tlh"}, codes.InvalidArgument, `language: "tlh" is not`},
	} {
		_, err := tailboundv1.NewReportServiceClient(conn).RenderReport(t.Context(), c.request)
		require.Equal(t, c.code, status.Code(err), c.name)
		require.ErrorContains(t, err, c.text, c.name)
	}
}

func TestAReportStopsWithItsCaller(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	s := reportService{Server: New(Options{})}
	_, err := s.RenderReport(ctx, &tailboundv1.RenderReportRequest{Groups: []*tailboundv1.AssessGroupRequest{dozen(0)}})
	require.ErrorIs(t, err, context.Canceled)
}

// large are n groups of 12 readings with zones, subjects and times, half of them with readings below a limit.
func large(n int) *tailboundv1.RenderReportRequest {
	r := &tailboundv1.RenderReportRequest{}
	for i := range n {
		g := dozen(i)
		for j, reading := range g.GetReadings() {
			reading.Zone, reading.Subject = "hall 3, welding bay", "P"+string(rune('A'+j%5))
			reading.Start = timestamppb.New(time.Date(2026, 3, 1+2*j, 7, 30, 0, 0, time.UTC))
			if i%2 == 1 && j%3 == 0 {
				reading.Result = &tailboundv1.Reading_Below{Below: 0.1}
			}
		}
		r.Groups = append(r.Groups, g)
	}
	return r
}

func TestALargeReportIsNotTooLarge(t *testing.T) {
	t.Parallel()
	const groups, most = 200, 15 << 20
	s := reportService{Server: New(Options{})}
	answer, err := s.RenderReport(t.Context(), large(groups/10))
	require.NoError(t, err)
	require.Less(t, len(answer.GetDocument().GetContent())*10, most)
}

func BenchmarkRenderReport(b *testing.B) {
	s := reportService{Server: New(Options{})}
	request := large(200)
	b.ReportAllocs()
	for b.Loop() {
		answer, err := s.RenderReport(b.Context(), request)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(answer.GetDocument().GetContent()))/1e6, "MB/report")
	}
}
