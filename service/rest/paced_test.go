package rest_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rest"
)

// bulky answers with a page far larger than what the kernel holds for a connection..
type bulky struct {
	tailboundv1.UnimplementedReportServiceServer
	working func(context.Context) error
}

const bulk = 3 << 20

func (b bulky) RenderReport(ctx context.Context, _ *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
	if err := b.working(ctx); err != nil {
		return nil, err
	}
	return &tailboundv1.RenderReportResponse{Document: &tailboundv1.Document{MediaType: "text/html", Content: make([]byte, bulk)}}, nil
}

func bulkyStack(t *testing.T, o rest.Options, working func(context.Context) error) *stack {
	t.Helper()
	o.MaxMessageBytes = 1 << 20
	return newStack(t, o, func(g *grpc.Server) { tailboundv1.RegisterReportServiceServer(g, bulky{working: working}) })
}

func atOnce(context.Context) error { return nil }

// asking opens a connection, asks for a report on it and leaves the answer to the caller.
func (s *stack) asking(t *testing.T) *net.TCPConn {
	t.Helper()
	c, err := net.Dial("tcp", s.http.Listener.Addr().String())
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close() })
	conn := c.(*net.TCPConn)
	require.NoError(t, conn.SetReadBuffer(64<<10))
	require.NoError(t, conn.SetDeadline(time.Now().Add(time.Minute)))
	_, err = fmt.Fprint(conn, "POST /v1/groups:report HTTP/1.1\r\nHost: x\r\nContent-Length: 2\r\n\r\n{}")
	require.NoError(t, err)
	return conn
}

// A client that asks for a report and never reads is let go of: what it gets in the end is cut.
func TestReaderThatReadsNothing(t *testing.T) {
	t.Parallel()
	s := bulkyStack(t, rest.Options{RequestTimeout: time.Minute, StreamIdleTimeout: 200 * time.Millisecond}, atOnce)
	conn := s.asking(t)
	time.Sleep(time.Second)
	response, err := http.ReadResponse(bufio.NewReader(conn), nil)
	require.NoError(t, err)
	defer response.Body.Close()
	n, err := io.Copy(io.Discard, response.Body)
	require.Error(t, err)
	require.Less(t, n, int64(bulk))
}

// One that reads slowly gets all, though it takes far longer than the time for one piece, and its connection is good for more.
func TestReaderThatReadsSlowly(t *testing.T) {
	t.Parallel()
	const idle = 500 * time.Millisecond
	s := bulkyStack(t, rest.Options{RequestTimeout: time.Minute, StreamIdleTimeout: idle}, atOnce)
	conn := s.asking(t)
	in := bufio.NewReader(conn)
	began := time.Now()
	for range 2 {
		response, err := http.ReadResponse(in, nil)
		require.NoError(t, err)
		n, err := io.Copy(io.Discard, napping{response.Body})
		require.NoError(t, err)
		require.EqualValues(t, bulk, n)
		require.NoError(t, response.Body.Close())
		time.Sleep(idle + idle/2)
		_, err = fmt.Fprint(conn, "POST /v1/groups:report HTTP/1.1\r\nHost: x\r\nContent-Length: 2\r\n\r\n{}")
		require.NoError(t, err)
	}
	require.Greater(t, time.Since(began), 2*idle)
}

type napping struct{ io.Reader }

func (n napping) Read(p []byte) (int, error) {
	time.Sleep(5 * time.Millisecond)
	return n.Reader.Read(p)
}

// A client that leaves while its report is written ends the work on it.
func TestReportOfAClientThatLeaves(t *testing.T) {
	t.Parallel()
	working, ended := make(chan struct{}), make(chan error, 1)
	s := bulkyStack(t, rest.Options{RequestTimeout: time.Minute}, func(ctx context.Context) error {
		close(working)
		<-ctx.Done()
		ended <- ctx.Err()
		return ctx.Err()
	})
	conn := s.asking(t)
	<-working
	require.NoError(t, conn.Close())
	require.ErrorIs(t, <-ended, context.Canceled)
}

// The time for the body is not the time for the answer.
func TestReportThatTakesLongerThanItsBodyMay(t *testing.T) {
	t.Parallel()
	s := bulkyStack(t, rest.Options{RequestTimeout: 50 * time.Millisecond}, func(ctx context.Context) error {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(300 * time.Millisecond):
			return nil
		}
	})
	a := s.do(t, http.MethodPost, "/v1/groups:report", "{}")
	require.Equal(t, http.StatusOK, a.code, strings.TrimSpace(a.body[:min(len(a.body), 200)]))
}

// Whatever a body is said to be, it is taken for JSON.
func TestContentTypes(t *testing.T) {
	t.Parallel()
	s := whole(t)
	for _, kind := range []string{"", "text/plain", ";;;", "application/x-www-form-urlencoded"} {
		a := s.do(t, http.MethodPost, "/v1/groups:assess", three, "Content-Type", kind)
		require.Equal(t, http.StatusOK, a.code, "%q: %s", kind, a.body)
	}
}
