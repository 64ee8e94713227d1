package client_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"

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
