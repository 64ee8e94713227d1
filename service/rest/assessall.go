package rest

import (
	"context"
	"net/http"
	"sync"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// Sizes of one stream; they bound its memory however long it is.
const (
	// pendingLines is how many lines may be read ahead of their answers.
	pendingLines = 256
	// spoolMemory is how many bytes of answers wait in memory for a slow reader, spoolFile how many in a temporary file.
	spoolMemory = 256 << 10
	spoolFile   = 1 << 30
)

// assessAll answers each line of the body, one group as JSON, with one line, in order, and ends with the number of answers.
//
// The stock gateway stops reading when it starts to answer and then passes off the cut as the end of the body. Here the body
// is read in full duplex by one goroutine that owns it to its end and is joined before the handler returns: net/http breaks
// when it is left reading. Answers go through a spool, so that reading never waits for a client that sends everything before
// it reads anything. An answer that cannot be finished lacks the end line and its connection is cut.
func (f *face) assessAll(w http.ResponseWriter, r *http.Request, _ map[string]string) {
	s := &session{
		face: f, w: w, control: http.NewResponseController(w),
		order: make(chan *tailboundv1.ErrorStatus, pendingLines),
		spool: newSpool(spoolLimits{memory: spoolMemory, file: spoolFile}),
	}
	err := s.serve(r)
	switch {
	case err == nil:
	case !s.started:
		// What is left of the body must not be taken for the next request.
		w.Header().Set("Connection", "close")
		f.fail(r.Context(), f.mux, codec{}, w, r, err)
	default:
		s.breakOff(err)
		panic(http.ErrAbortHandler)
	}
}

// session is one stream over HTTP.
type session struct {
	*face
	w       http.ResponseWriter
	control *http.ResponseController
	// order has one entry for each line read, in order: nil when the answer comes from the service, else the line's error.
	order chan *tailboundv1.ErrorStatus
	spool *spool
	watch *watchdog
	// started says that the status 200 went out.
	started bool
}

type groupsClient = interface {
	Send(group *tailboundv1.AssessGroupsRequest) error
	Recv() (*tailboundv1.AssessGroupsResponse, error)
	CloseSend() error
}

// serve runs the three parts of a stream: reading lines, collecting answers, writing them. The first error wins and ends
// the other parts.
func (s *session) serve(r *http.Request) (err error) {
	if err := s.control.EnableFullDuplex(); err != nil {
		return err
	}
	annotated, err := runtime.AnnotateContext(r.Context(), s.mux, r, tailboundv1.AssessmentService_AssessGroups_FullMethodName)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancelCause(annotated)
	defer cancel(nil)
	stream, err := s.assessments.AssessGroups(ctx)
	if err != nil {
		return err
	}
	s.watch = newWatchdog(s.StreamIdleTimeout, func() {
		cancel(status.Errorf(codes.DeadlineExceeded, "nothing moved on the stream for %v", s.StreamIdleTimeout))
		s.interrupt()
		// A write that a client without any reading holds up must end too; a second leaves room to say why.
		_ = s.control.SetWriteDeadline(time.Now().Add(time.Second))
	})
	defer s.watch.stop()
	s.run(ctx, cancel, r, stream)
	return context.Cause(ctx)
}

// run returns when no part runs any more. A failure is the cause of ctx.
func (s *session) run(ctx context.Context, cancel context.CancelCauseFunc, r *http.Request, stream groupsClient) {
	var parts sync.WaitGroup
	parts.Go(func() {
		defer close(s.order)
		if err := s.read(ctx, r.Body, stream); err != nil {
			cancel(err)
		}
	})
	parts.Go(func() {
		defer s.spool.end()
		if err := s.collect(ctx, stream); err != nil {
			cancel(err)
		}
	})
	if err := s.write(); err != nil {
		cancel(err)
		s.spool.end()
	}
	if ctx.Err() != nil {
		s.interrupt()
	}
	parts.Wait()
	if err := s.spool.close(); err != nil {
		s.Logger.WarnContext(ctx, "a temporary file was not removed", "error", err)
	}
}

// interrupt makes a pending read of the body return; a connection without deadlines returns when it is closed.
func (s *session) interrupt() { _ = s.control.SetReadDeadline(time.Unix(1, 0)) }

// write passes answers on until there are no more. What is ready goes out in one piece, and at once.
func (s *session) write() error {
	var buffer []byte
	for {
		b, more, err := s.spool.take(buffer)
		if err != nil || len(b) == 0 {
			return err
		}
		s.start()
		if _, err := s.w.Write(b); err != nil {
			return err
		}
		s.watch.touch()
		if !more {
			if err := s.control.Flush(); err != nil {
				return err
			}
		}
		buffer = b
	}
}

func (s *session) start() {
	if s.started {
		return
	}
	s.started = true
	s.w.Header().Set("Content-Type", "application/x-ndjson")
	s.w.Header().Set("Cache-Control", "no-store")
	s.w.WriteHeader(http.StatusOK)
}

// breakOff says why the answers end here, as far as the client can still hear it.
func (s *session) breakOff(err error) {
	line, failed := AppendJSON(nil, errorAnswer(lineError(status.Convert(err))))
	if failed != nil {
		return
	}
	_, _ = s.w.Write(append(line, '\n'))
	_ = s.control.Flush()
}
