package rpc

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Large reports wait for their turn, small ones and other calls do not, and whoever leaves while waiting costs nothing.
func TestLargeReportsTakeTurns(t *testing.T) {
	t.Parallel()
	s := reportService{Server: New(Options{})}
	begun, wait := make(chan struct{}, 10_000), make(chan struct{})
	s.assess = func(g reading.Group, _ assess.Options) (*report.Assessment, error) {
		if g.Name != "small" {
			begun <- struct{}{}
			<-wait
		}
		return nil, fault.Unsettled("nothing")
	}
	of := func(n int, name string) *tailboundv1.RenderReportRequest {
		r := &tailboundv1.RenderReportRequest{}
		for range n {
			r.Groups = append(r.Groups, named(name))
		}
		return r
	}
	large := func(ctx context.Context) <-chan error {
		ended := make(chan error, 1)
		go func() {
			_, err := s.RenderReport(ctx, of(smallReport+1, "large"))
			ended <- err
		}()
		return ended
	}
	var running []<-chan error
	for range manyTurns() {
		running = append(running, large(t.Context()))
	}
	require.Eventually(t, func() bool { return len(s.reports) == manyTurns() }, 10*time.Second, time.Millisecond)

	_, err := s.RenderReport(t.Context(), of(smallReport, "small"))
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, <-large(ctx), context.DeadlineExceeded)

	close(wait)
	for _, ended := range append(running, large(t.Context())) {
		require.NoError(t, <-ended)
	}
	require.Empty(t, s.reports)
	require.Len(t, begun, (manyTurns()+1)*(smallReport+1), "the one that left did no work")
}

// A report whose caller leaves stops between groups and gives its turn back.
func TestAReportStopsBetweenGroups(t *testing.T) {
	t.Parallel()
	s := reportService{Server: New(Options{})}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{}, 10_000)
	s.assess = func(reading.Group, assess.Options) (*report.Assessment, error) {
		cancel()
		done <- struct{}{}
		return nil, fault.Unsettled("nothing")
	}
	_, err := s.RenderReport(ctx, large(1000))
	require.ErrorIs(t, err, context.Canceled)
	require.LessOrEqual(t, len(done), mostWorkers)
	require.Empty(t, s.reports)
}
