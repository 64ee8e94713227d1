package polyglot_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
)

// server is a running server, as the command line starts it, and a Go client of it.
type server struct {
	grpc, http string
	client     *client.Client
}

// start runs a server on free ports of the loopback until the test ends.
func start(t *testing.T) *server {
	t.Helper()
	options := service.DefaultOptions()
	options.GRPCAddr, options.HTTPAddr = "127.0.0.1:0", "127.0.0.1:0"
	app, err := service.New(options)
	require.NoError(t, err)
	require.NoError(t, app.Start(t.Context()))
	t.Cleanup(func() { require.NoError(t, app.Stop(context.Background())) })
	c, err := client.Dial(app.GRPCAddr(), client.Plaintext())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, c.Close()) })
	return &server{grpc: app.GRPCAddr(), http: app.HTTPAddr(), client: c}
}

func (s *server) unary(t *testing.T, file string) *tailboundv1.AssessGroupResponse {
	t.Helper()
	answer, err := s.client.AssessGroup(t.Context(), group(t, read(t, file)))
	require.NoError(t, err)
	return answer
}

func (s *server) stream(t *testing.T) []client.Answer {
	t.Helper()
	var groups []*tailboundv1.AssessGroupRequest
	for _, line := range lines(read(t, "groups.ndjson")) {
		groups = append(groups, group(t, line))
	}
	var answers []client.Answer
	for answer, err := range s.client.AssessAll(t.Context(), slices.Values(groups)) {
		require.NoError(t, err)
		answers = append(answers, answer)
	}
	return answers
}

func group(t *testing.T, text string) *tailboundv1.AssessGroupRequest {
	t.Helper()
	var request tailboundv1.AssessGroupRequest
	require.NoError(t, protojson.Unmarshal([]byte(text), &request))
	return &request
}
