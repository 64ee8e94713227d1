package client_test

import (
	"context"
	"errors"
	"io"
	"iter"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

var errDisk = errors.New("the disk is gone")

// parts yields n parts of one value each, and then the error if there is one.
func parts(n int, last error) iter.Seq2[*tailboundv1.TraceValues, error] {
	return func(yield func(*tailboundv1.TraceValues, error) bool) {
		for i := range n {
			if !yield(&tailboundv1.TraceValues{Values: []float64{float64(i)}}, nil) {
				return
			}
		}
		if last != nil {
			yield(nil, last)
		}
	}
}

// replay answers with the zone of the header and one reading a value.
func replay(stream traceStream) error {
	first, err := stream.Recv()
	if err != nil {
		return err
	}
	answer := &tailboundv1.ReduceTraceResponse{Caution: first.GetHeader().GetZone()}
	for {
		part, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return stream.SendAndClose(answer)
		}
		if err != nil {
			return err
		}
		for _, value := range part.GetValues().GetValues() {
			answer.Readings = append(answer.Readings, &tailboundv1.TraceReading{Coverage: value})
		}
	}
}

func TestReduceTraceSendsHeaderThenParts(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{reduce: replay})
	for _, n := range []int{0, 1, 1000} {
		answer, err := c.ReduceTrace(t.Context(), &tailboundv1.TraceHeader{Zone: "bay 3"}, parts(n, nil))
		require.NoError(t, err)
		require.Equal(t, "bay 3", answer.GetCaution())
		require.Len(t, answer.GetReadings(), n)
		for i, r := range answer.GetReadings() {
			require.InDelta(t, i, r.GetCoverage(), 0)
		}
	}
}

func TestReduceTraceNeverTakesHalfATraceForAWholeOne(t *testing.T) {
	t.Parallel()
	ended := make(chan error, 1)
	c := start(t, &fake{reduce: func(stream traceStream) error {
		err := replay(stream)
		ended <- err
		return err
	}})
	for _, unread := range []error{errDisk, io.EOF} {
		answer, err := c.ReduceTrace(t.Context(), &tailboundv1.TraceHeader{}, parts(3, unread))
		require.Nil(t, answer)
		require.ErrorIs(t, err, unread)
		require.Equal(t, codes.Canceled, status.Code(<-ended), "the server must not see an orderly end")
	}
}

func TestReduceTraceReportsTheServersRefusal(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{reduce: func(traceStream) error { return refused().Err() }})
	_, err := c.ReduceTrace(t.Context(), &tailboundv1.TraceHeader{}, parts(1_000_000, nil))
	requireRefused(t, err)
}

func TestReduceTraceRefusesAnAnswerGivenTooEarly(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{reduce: func(stream traceStream) error {
		return stream.SendAndClose(&tailboundv1.ReduceTraceResponse{})
	}})
	_, err := c.ReduceTrace(t.Context(), &tailboundv1.TraceHeader{}, parts(1_000_000, nil))
	require.Equal(t, codes.DataLoss, status.Code(err))
}

func TestReduceTraceReportsAPartThatIsTooLarge(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{reduce: replay}, client.WithMessageBytes(1<<10))
	large := func(yield func(*tailboundv1.TraceValues, error) bool) {
		yield(&tailboundv1.TraceValues{Values: make([]float64, 1<<10)}, nil)
	}
	_, err := c.ReduceTrace(t.Context(), &tailboundv1.TraceHeader{}, large)
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
}

func TestReduceTraceEndsWithItsContext(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	c := start(t, &fake{reduce: func(stream traceStream) error {
		cancel()
		<-stream.Context().Done()
		return stream.Context().Err()
	}})
	_, err := c.ReduceTrace(ctx, &tailboundv1.TraceHeader{}, parts(3, nil))
	require.ErrorIs(t, err, context.Canceled)
}

func TestEstimateAirChange(t *testing.T) {
	t.Parallel()
	c := start(t, new(fake))
	answer, err := c.EstimateAirChange(t.Context(), &tailboundv1.EstimateAirChangeRequest{Values: []float64{1}, Zone: "room 12"})
	require.NoError(t, err)
	require.Equal(t, "room 12", answer.GetZone())
	_, err = c.EstimateAirChange(t.Context(), &tailboundv1.EstimateAirChangeRequest{})
	requireRefused(t, err)
}
