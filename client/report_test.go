package client_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// A report may be larger than any other answer.
func TestRenderReport(t *testing.T) {
	t.Parallel()
	const size = client.DefaultMessageBytes + 1
	c := start(t, &fake{render: func(r *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
		if len(r.GetGroups()) == 0 {
			return nil, refused().Err()
		}
		return &tailboundv1.RenderReportResponse{
			Document: &tailboundv1.Document{MediaType: r.GetTitle(), Content: make([]byte, size)}, InputDigest: "digest",
		}, nil
	}})
	answer, err := c.RenderReport(t.Context(), &tailboundv1.RenderReportRequest{Title: "text/html", Groups: []*tailboundv1.AssessGroupRequest{{}}})
	require.NoError(t, err)
	require.Len(t, answer.GetDocument().GetContent(), size)
	require.Equal(t, "text/html", answer.GetDocument().GetMediaType())
	require.Equal(t, "digest", answer.GetInputDigest())

	_, err = c.RenderReport(t.Context(), &tailboundv1.RenderReportRequest{})
	var e *client.Error
	require.ErrorAs(t, err, &e)
	require.Equal(t, codes.InvalidArgument, e.Code)
	require.Len(t, e.Violations, 2)
}

// A file of the size of a message is read, though what was read of it takes more.
func TestLargeFile(t *testing.T) {
	t.Parallel()
	const size = client.DefaultMessageBytes * 3 / 4
	answer, err := start(t, &fake{}).ReadResults(t.Context(), &tailboundv1.ReadResultsRequest{Name: "large.csv", Content: make([]byte, size)})
	require.NoError(t, err)
	require.Len(t, answer.GetGuesses()[0], 2*size)
}

// A large question is asked again like a small one.
func TestLargeQuestionsAreRetried(t *testing.T) {
	t.Parallel()
	attempts := 0
	c := start(t, &fake{render: func(*tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
		if attempts++; attempts == 1 {
			return nil, status.Error(codes.Unavailable, "starting")
		}
		return &tailboundv1.RenderReportResponse{InputDigest: "digest"}, nil
	}})
	answer, err := c.RenderReport(t.Context(), &tailboundv1.RenderReportRequest{Title: strings.Repeat("x", 1<<20)})
	require.NoError(t, err)
	require.Equal(t, "digest", answer.GetInputDigest())
	require.Equal(t, 2, attempts)
}
