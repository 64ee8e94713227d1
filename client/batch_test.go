package client_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"pgregory.net/rapid"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

func groups(names ...string) iter.Seq[*tailboundv1.AssessGroupRequest] {
	return func(yield func(*tailboundv1.AssessGroupRequest) bool) {
		for _, name := range names {
			if !yield(&tailboundv1.AssessGroupRequest{Name: name}) {
				return
			}
		}
	}
}

// numbered yields n groups named by their position and counts how many were asked for.
func numbered(n int, asked *atomic.Int64) iter.Seq[*tailboundv1.AssessGroupRequest] {
	return func(yield func(*tailboundv1.AssessGroupRequest) bool) {
		reused := &tailboundv1.AssessGroupRequest{}
		for i := range n {
			asked.Add(1)
			reused.Name = fmt.Sprint(i)
			if !yield(reused) {
				return
			}
		}
	}
}

func collect(answers iter.Seq2[client.Answer, error]) ([]client.Answer, error) {
	var all []client.Answer
	for answer, err := range answers {
		if err != nil {
			return all, err
		}
		all = append(all, answer)
	}
	return all, nil
}

func TestAssessAllAnswersEveryGroupInOrder(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: echo})
	for _, n := range []int{0, 1, 2, client.DefaultWindow, client.DefaultWindow + 1, 1000} {
		var asked atomic.Int64
		answers, err := collect(c.AssessAll(t.Context(), numbered(n, &asked)))
		require.NoError(t, err)
		require.Len(t, answers, n)
		require.EqualValues(t, n, asked.Load())
		for i, answer := range answers {
			require.Equal(t, i, answer.Index)
			require.NoError(t, answer.Err)
			require.Equal(t, fmt.Sprint(i), answer.Name)
			require.Equal(t, answer.Name, answer.Response.GetName())
		}
	}
}

// TestAssessAllKeepsGroupsApart mixes groups that are answered, that the server refuses and that are never sent.
func TestAssessAllKeepsGroupsApart(t *testing.T) {
	t.Parallel()
	kinds := []string{"good", "bad", "not UTF-8 \xff", strings.Repeat("long", 300)}
	windows := []int{-1, 1, 2, 64}
	servers := map[int]*client.Client{}
	for _, window := range windows {
		servers[window] = start(t, &fake{batch: echo}, client.WithWindow(window), client.WithMessageBytes(1<<10))
	}
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfN(rapid.SampledFrom(kinds), 0, 20).Draw(t, "names")
		c := servers[rapid.SampledFrom(windows).Draw(t, "window")]
		answers, err := collect(c.AssessAll(context.Background(), groups(names...)))
		require.NoError(t, err)
		require.Len(t, answers, len(names))
		for i, answer := range answers {
			require.Equal(t, i, answer.Index)
			require.Equal(t, names[i], answer.Name)
			require.Equal(t, answer.Err == nil, answer.Response != nil)
			want := map[string]codes.Code{kinds[0]: codes.OK, kinds[3]: codes.ResourceExhausted}
			code, ok := want[names[i]]
			if !ok {
				code = codes.InvalidArgument
			}
			require.Equal(t, code, status.Code(answer.Err))
		}
	})
}

func TestAssessAllTypesTheErrorOfAGroup(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: echo})
	answers, err := collect(c.AssessAll(t.Context(), groups("a", "bad", "c")))
	require.NoError(t, err)
	require.Len(t, answers, 3)
	require.Nil(t, answers[1].Response)
	require.Equal(t, "bad", answers[1].Name)
	requireRefused(t, answers[1].Err)
	require.Equal(t, "c", answers[2].Response.GetName())
}

func TestAssessAllReportsAStreamThatIsNotWhole(t *testing.T) {
	t.Parallel()
	at := func(index int32) *tailboundv1.AssessGroupsResponse { return echoed(index, "x") }
	noIndex := at(0)
	noIndex.Index = nil
	unanswered := at(1)
	unanswered.Answer = nil
	restEnd := at(1)
	restEnd.Answer = &tailboundv1.AssessGroupsResponse_End{End: &tailboundv1.StreamEnd{Answered: 1}}
	noCode := at(1)
	noCode.Answer = &tailboundv1.AssessGroupsResponse_Error{Error: &tailboundv1.ErrorStatus{}}
	for name, row := range map[string]struct {
		sent   []*tailboundv1.AssessGroupsResponse
		status error
		whole  int
		code   codes.Code
	}{
		"nothing":      {code: codes.DataLoss},
		"short":        {sent: []*tailboundv1.AssessGroupsResponse{at(0), at(1)}, whole: 2, code: codes.DataLoss},
		"long":         {sent: []*tailboundv1.AssessGroupsResponse{at(0), at(1), at(2), at(3)}, whole: 3, code: codes.DataLoss},
		"skipped":      {sent: []*tailboundv1.AssessGroupsResponse{at(0), at(2), at(1)}, whole: 1, code: codes.DataLoss},
		"repeated":     {sent: []*tailboundv1.AssessGroupsResponse{at(0), at(0), at(1)}, whole: 1, code: codes.DataLoss},
		"no index":     {sent: []*tailboundv1.AssessGroupsResponse{noIndex}, code: codes.DataLoss},
		"no answer":    {sent: []*tailboundv1.AssessGroupsResponse{at(0), unanswered}, whole: 1, code: codes.DataLoss},
		"end line":     {sent: []*tailboundv1.AssessGroupsResponse{at(0), restEnd}, whole: 1, code: codes.DataLoss},
		"no code":      {sent: []*tailboundv1.AssessGroupsResponse{at(0), noCode}, whole: 1, code: codes.DataLoss},
		"failed early": {sent: []*tailboundv1.AssessGroupsResponse{at(0)}, status: status.Error(codes.Internal, "no"), whole: 1, code: codes.Internal},
		"failed late":  {sent: []*tailboundv1.AssessGroupsResponse{at(0), at(1), at(2)}, status: status.Error(codes.Aborted, "no"), whole: 3, code: codes.Aborted},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := start(t, &fake{batch: func(stream groupsStream) error {
				for _, answer := range row.sent {
					if err := stream.Send(answer); err != nil {
						return err
					}
				}
				for {
					if _, err := stream.Recv(); errors.Is(err, io.EOF) {
						return row.status
					} else if err != nil {
						return err
					}
				}
			}})
			answers, err := collect(c.AssessAll(t.Context(), groups("a", "b", "c")))
			require.Len(t, answers, row.whole)
			var failure *client.Error
			require.ErrorAs(t, err, &failure)
			require.Equal(t, row.code, failure.Code, failure.Message)
		})
	}
}

func TestAssessAllStopsWhenTheServerGivesUp(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: func(stream groupsStream) error {
		_, _ = stream.Recv()
		return status.Error(codes.ResourceExhausted, "too many groups")
	}})
	var asked atomic.Int64
	answers, err := collect(c.AssessAll(t.Context(), numbered(1_000_000, &asked)))
	require.Empty(t, answers)
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
	require.Less(t, asked.Load(), int64(2*client.DefaultWindow))
}

func TestAssessAllIsRetriedUntilTheFirstAnswer(t *testing.T) {
	t.Parallel()
	var attempts atomic.Int32
	c := start(t, &fake{batch: func(stream groupsStream) error {
		if attempts.Add(1) <= 2 {
			return status.Error(codes.Unavailable, "starting")
		}
		return echo(stream)
	}})
	var asked atomic.Int64
	answers, err := collect(c.AssessAll(t.Context(), numbered(200, &asked)))
	require.NoError(t, err)
	require.Len(t, answers, 200)
	require.EqualValues(t, 3, attempts.Load())
}

// TestAssessAllBoundsTheGroupsOnTheirWay lets a server take all it can get without answering.
func TestAssessAllBoundsTheGroupsOnTheirWay(t *testing.T) {
	t.Parallel()
	for _, window := range []int{1, 2, 64} {
		t.Run(fmt.Sprint(window), func(t *testing.T) {
			t.Parallel()
			var received, answered, most atomic.Int64
			c := start(t, &fake{batch: func(stream groupsStream) error {
				arrived := make(chan string)
				go func() {
					defer close(arrived)
					for {
						request, err := stream.Recv()
						if err != nil {
							return
						}
						most.Store(max(most.Load(), received.Add(1)-answered.Load()))
						arrived <- request.GetGroup().GetName()
					}
				}()
				index := int32(0)
				for name := range arrived {
					runtime.Gosched()
					answered.Add(1)
					if err := stream.Send(echoed(index, name)); err != nil {
						return err
					}
					index++
				}
				return nil
			}}, client.WithWindow(window))
			var asked atomic.Int64
			for answer, err := range c.AssessAll(t.Context(), numbered(500, &asked)) {
				require.NoError(t, err)
				// One more may be in the sender's hand, waiting for its place.
				require.LessOrEqual(t, asked.Load(), int64(answer.Index+1+window+1))
			}
			require.LessOrEqual(t, most.Load(), int64(window))
		})
	}
}

// TestAssessAllTakesAGroupThatDependsOnAnAnswer needs sending and receiving to run side by side.
func TestAssessAllTakesAGroupThatDependsOnAnAnswer(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: echo})
	next := make(chan string, 1)
	next <- "0"
	dependent := func(yield func(*tailboundv1.AssessGroupRequest) bool) {
		for name := range next {
			if !yield(&tailboundv1.AssessGroupRequest{Name: name}) {
				return
			}
		}
	}
	n := 0
	for answer, err := range c.AssessAll(t.Context(), dependent) {
		require.NoError(t, err)
		require.Equal(t, fmt.Sprint(n), answer.Name)
		if n++; n == 10 {
			close(next)
		} else {
			next <- fmt.Sprint(n)
		}
	}
	require.Equal(t, 10, n)
}

// TestAssessAllLeftEarly is not parallel: it watches the goroutines of the process.
func TestAssessAllLeftEarly(t *testing.T) {
	ended := make(chan error, 1)
	c := start(t, &fake{batch: func(stream groupsStream) error {
		err := echo(stream)
		ended <- err
		return err
	}})
	var asked atomic.Int64
	whole, err := collect(c.AssessAll(t.Context(), numbered(1, &asked))) // Connects.
	require.NoError(t, err)
	require.Len(t, whole, 1)
	require.NoError(t, <-ended)
	before := goleak.IgnoreCurrent()

	leave := map[string]func(){
		"break": func() {
			for _, err := range c.AssessAll(t.Context(), numbered(1_000_000, &asked)) {
				require.NoError(t, err)
				break
			}
		},
		"panic": func() {
			defer func() { require.Equal(t, "caller", recover()) }()
			for _, err := range c.AssessAll(t.Context(), numbered(1_000_000, &asked)) {
				require.NoError(t, err)
				panic("caller")
			}
		},
		"canceled": func() {
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			var last error
			for answer, err := range c.AssessAll(ctx, numbered(1_000_000, &asked)) {
				if last = err; answer.Index == 3 {
					cancel()
				}
			}
			require.ErrorIs(t, last, context.Canceled)
		},
	}
	for name, act := range leave {
		asked.Store(0)
		act()
		require.Less(t, asked.Load(), int64(1_000_000), name)
		after := asked.Load()
		require.Equal(t, codes.Canceled, status.Code(<-ended), name)
		require.Equal(t, after, asked.Load(), "%s: the iterator has returned when the loop has", name)
		goleak.VerifyNone(t, before)
	}
}

func TestAssessAllOfAnIteratorThatEndsItsGoroutine(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: echo})
	answers, err := collect(c.AssessAll(t.Context(), func(yield func(*tailboundv1.AssessGroupRequest) bool) {
		yield(&tailboundv1.AssessGroupRequest{Name: "a"})
		runtime.Goexit()
	}))
	require.LessOrEqual(t, len(answers), 1)
	require.ErrorIs(t, err, context.Canceled)
}

func TestAssessAllCanBeRangedAgain(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{batch: echo})
	answers := c.AssessAll(t.Context(), groups("a", "b"))
	first, err := collect(answers)
	require.NoError(t, err)
	second, err := collect(answers)
	require.NoError(t, err)
	names := func(answers []client.Answer) []string {
		var all []string
		for _, answer := range answers {
			all = append(all, answer.Response.GetName())
		}
		return all
	}
	require.Equal(t, []string{"a", "b"}, names(first))
	require.Equal(t, names(first), names(second))
}

// TestAssessAllHoldsLittle sends 64 MiB of groups past a slow reader and looks at the heap.
func TestAssessAllHoldsLittle(t *testing.T) {
	if testing.Short() {
		t.Skip("moves 64 MiB")
	}
	c := start(t, &fake{batch: echo}, client.WithWindow(8))
	const size, count = 64 << 10, 1024
	large := slices.Repeat([]*tailboundv1.AssessGroupRequest{{Agent: strings.Repeat("n", size)}}, count)
	runtime.GC()
	var before, now runtime.MemStats
	runtime.ReadMemStats(&before)
	most := uint64(0)
	for answer, err := range c.AssessAll(t.Context(), slices.Values(large)) {
		require.NoError(t, err)
		if answer.Index%64 == 0 {
			time.Sleep(time.Millisecond)
			runtime.GC()
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapAlloc-min(before.HeapAlloc, now.HeapAlloc))
		}
	}
	t.Logf("at most %.1f MiB more than before", float64(most)/(1<<20))
	// gRPC pools buffers of 1 MiB for messages of this size: eight on their way, at each end.
	require.Less(t, most, uint64(16<<20))
}

// BenchmarkAssessAll times one group of 20 readings: against a server that does nothing, which is the cost of the client and
// the transport, as a call of its own for comparison, and against the service inside the process.
func BenchmarkAssessAll(b *testing.B) {
	values := make([]float64, 20)
	for i := range values {
		values[i] = 0.01 * float64(i+1)
	}
	request := &tailboundv1.AssessGroupRequest{Unit: "mg/m3", Limit: &tailboundv1.Limit{Value: 0.5}, Readings: detected(values...)}
	for _, window := range []int{1, 16, client.DefaultWindow, 256} {
		b.Run(fmt.Sprintf("window=%d", window), func(b *testing.B) {
			benchmarkBatch(b, start(b, &fake{batch: echo}, client.WithWindow(window)), request)
		})
	}
	b.Run("unary", func(b *testing.B) {
		c := start(b, &fake{assess: named})
		b.ReportAllocs()
		for b.Loop() {
			_, err := c.AssessGroup(b.Context(), request)
			require.NoError(b, err)
		}
	})
	b.Run("service", func(b *testing.B) {
		c, stop := embedded()
		defer stop()
		benchmarkBatch(b, c, request)
	})
}

func benchmarkBatch(b *testing.B, c *client.Client, request *tailboundv1.AssessGroupRequest) {
	b.Helper()
	b.ReportAllocs()
	groups := slices.Values(slices.Repeat([]*tailboundv1.AssessGroupRequest{request}, b.N))
	b.ResetTimer()
	for answer, err := range c.AssessAll(b.Context(), groups) {
		if err != nil || answer.Err != nil {
			b.Fatal(err, answer.Err)
		}
	}
}
