package rest

import (
	"context"
	"errors"
	"io"
	"math"
	"strings"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// read sends the lines of the body to the service until its end. A line that is no group takes its place in the order with
// its own error.
func (s *session) read(ctx context.Context, body io.Reader, stream groupsClient) error {
	in := newLines(touching{body, s.watch}, s.MaxMessageBytes)
	for count := 0; ; count++ {
		request, refused, err := s.nextGroup(in)
		if errors.Is(err, io.EOF) {
			return stream.CloseSend()
		}
		if err == nil && count == math.MaxInt32 {
			err = status.Errorf(codes.ResourceExhausted, "a stream has at most %d lines", math.MaxInt32)
		}
		if err != nil {
			return err
		}
		select {
		case s.order <- refused:
		case <-ctx.Done():
			return ctx.Err()
		}
		if refused != nil {
			continue
		}
		if err := stream.Send(request); err != nil {
			// io.EOF says that the stream has failed; collect, which waits for this answer, learns why.
			return ignoreEOF(err)
		}
	}
}

// nextGroup reads one group, or the reason why a line is none. The error is that of the body.
func (s *session) nextGroup(in *lines) (*tailboundv1.AssessGroupsRequest, *tailboundv1.ErrorStatus, error) {
	line, err := in.next()
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil, io.EOF
	case errors.Is(err, errLongLine):
		return nil, lineError(status.Newf(codes.ResourceExhausted,
			"line %d has more than %d bytes, the most that this server takes, and was skipped", in.number, s.MaxMessageBytes)), nil
	case err != nil:
		return nil, nil, status.Error(codes.Canceled, "the body was cut")
	}
	request := &tailboundv1.AssessGroupsRequest{Group: new(tailboundv1.AssessGroupRequest)}
	if err := ParseJSON(line, request.GetGroup()); err != nil {
		// Inside a line the place is a column.
		text := strings.Replace(err.Error(), "(line 1:", "(column ", 1)
		return nil, lineError(status.Newf(codes.InvalidArgument, "line %d: %s", in.number, text)), nil
	}
	// A message over the limit would end the whole stream.
	if size := proto.Size(request); size > s.MaxMessageBytes {
		return nil, lineError(status.Newf(codes.ResourceExhausted,
			"line %d: the group takes %d bytes as a message; this server takes at most %d", in.number, size, s.MaxMessageBytes)), nil
	}
	return request, nil, nil
}

// collect puts the answers, and the errors of lines that never reached the service, into the spool in the order of the lines.
func (s *session) collect(ctx context.Context, stream groupsClient) error {
	var line []byte
	index := int32(0)
	for refused := range s.order {
		answer, err := receive(stream, refused)
		if err != nil {
			return err
		}
		answer.Index = &index
		if line, err = s.put(line[:0], answer); err != nil {
			return err
		}
		index++
	}
	// The order also ends when reading failed; then ctx has the reason.
	if err := ctx.Err(); err != nil {
		return err
	}
	if _, err := stream.Recv(); !errors.Is(err, io.EOF) {
		return orInternal(err)
	}
	_, err := s.put(line[:0], &tailboundv1.AssessGroupsResponse{
		Answer: &tailboundv1.AssessGroupsResponse_End{End: &tailboundv1.StreamEnd{Answered: index}},
	})
	return err
}

func (s *session) put(line []byte, answer *tailboundv1.AssessGroupsResponse) ([]byte, error) {
	line, err := AppendJSON(line, answer)
	if err != nil {
		return line, err
	}
	line = append(line, '\n')
	s.watch.touch()
	return line, s.spool.put(line)
}

func receive(stream groupsClient, refused *tailboundv1.ErrorStatus) (*tailboundv1.AssessGroupsResponse, error) {
	if refused != nil {
		return errorAnswer(refused), nil
	}
	answer, err := stream.Recv()
	if errors.Is(err, io.EOF) {
		return nil, orInternal(nil)
	}
	return answer, err
}

// orInternal stands for a service that ended the stream too early or answered more than it was asked.
func orInternal(err error) error {
	if err != nil {
		return err
	}
	return status.Error(codes.Internal, "the number of answers does not match the number of lines")
}

func errorAnswer(e *tailboundv1.ErrorStatus) *tailboundv1.AssessGroupsResponse {
	return &tailboundv1.AssessGroupsResponse{Answer: &tailboundv1.AssessGroupsResponse_Error{Error: e}}
}

func lineError(s *status.Status) *tailboundv1.ErrorStatus {
	p := s.Proto()
	return &tailboundv1.ErrorStatus{Code: p.GetCode(), Message: p.GetMessage(), Details: p.GetDetails()}
}

func ignoreEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}
