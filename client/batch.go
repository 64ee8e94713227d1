package client

import (
	"context"
	"errors"
	"io"
	"iter"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// Answer is what became of one group of a batch: Response or Err, never both.
type Answer struct {
	// Index is the position of the group in the batch, from 0.
	Index int
	// Name is the name of the group as in its request, known for failed groups too.
	Name string
	// Response is the assessment; nil when Err is set.
	Response *tailboundv1.AssessGroupResponse
	// Err, an *Error, says why this group could not be assessed. The groups after it are assessed all the same.
	Err error
}

// AssessAll assesses many groups over one stream and yields one answer a group, in the order of the groups. The error beside
// an answer is about the batch, not about the group: it is an *Error, it comes last, and the batch is then not whole. A
// stream that ends with fewer answers than groups is such an error, so a loop that saw none has seen every answer.
//
// groups runs in a goroutine of its own while answers come in; at most WithWindow groups are on their way, so the memory in
// use does not grow with the batch. A group may be changed or reused once the iterator is resumed. Leaving the loop early
// cancels the stream. The loop returns only when groups has returned: an iterator that may wait without end must watch a
// context of the caller's. Each range over the result is a batch of its own.
func (c *Client) AssessAll(ctx context.Context, groups iter.Seq[*tailboundv1.AssessGroupRequest]) iter.Seq2[Answer, error] {
	return func(yield func(Answer, error) bool) {
		batchCtx, cancel := context.WithCancel(ctx)
		defer cancel()
		stream, err := c.assessment.AssessGroups(batchCtx, c.calls...)
		if err != nil {
			yield(Answer{}, fromRPC(err))
			return
		}
		// One group is in the receiver's hand, the others of the window wait in the channel.
		b := &batch{stream: stream, sent: make(chan outgoing, c.settings.window-1), largest: c.settings.messageBytes}
		done := make(chan struct{})
		go func() {
			defer close(done)
			b.send(batchCtx, cancel, groups)
		}()
		defer func() { cancel(); <-done }()
		b.receive(yield)
	}
}

// batch is one stream of groups. Its sender and its receiver share only the channel of groups that await their answer.
type batch struct {
	stream  grpc.BidiStreamingClient[tailboundv1.AssessGroupsRequest, tailboundv1.AssessGroupsResponse]
	sent    chan outgoing
	largest int
}

// outgoing is a group whose answer is awaited, or that was refused before it was sent.
type outgoing struct {
	name    string
	refusal error
}

// send sends the groups and closes the channel when no more will come.
func (b *batch) send(ctx context.Context, cancel context.CancelFunc, groups iter.Seq[*tailboundv1.AssessGroupRequest]) {
	returned := false
	defer func() {
		if !returned { // groups left by runtime.Goexit: nothing else would end the stream.
			cancel()
		}
		close(b.sent)
	}()
	b.sendAll(ctx, groups)
	returned = true
}

func (b *batch) sendAll(ctx context.Context, groups iter.Seq[*tailboundv1.AssessGroupRequest]) {
	var scratch []byte
	for group := range groups {
		message := &tailboundv1.AssessGroupsRequest{Group: group}
		var refusal error
		scratch, refusal = b.check(scratch, message)
		select {
		case b.sent <- outgoing{name: group.GetName(), refusal: refusal}:
		case <-ctx.Done():
			return
		}
		// When the stream has failed, the receiver learns why.
		if refusal == nil && b.stream.Send(message) != nil {
			return
		}
	}
	_ = b.stream.CloseSend() // It returns no error but nil.
}

// check refuses a message that would end the whole stream: one that cannot be encoded, or is too large. Scratch saves an
// allocation a group.
func (b *batch) check(scratch []byte, message proto.Message) ([]byte, error) {
	scratch, err := proto.MarshalOptions{}.MarshalAppend(scratch[:0], message)
	if err != nil {
		return scratch, fromStatus(status.Newf(codes.InvalidArgument, "the group cannot be sent: %v", err))
	}
	if len(scratch) > b.largest {
		return scratch, fromStatus(status.Newf(codes.ResourceExhausted,
			"the group takes %d bytes; at most %d are sent in one message", len(scratch), b.largest))
	}
	return scratch, nil
}

// receive yields the answer of each group in turn, and an error when the stream breaks off or does not match the groups.
func (b *batch) receive(yield func(Answer, error) bool) {
	answer, asked := Answer{}, int32(0)
	for group := range b.sent {
		answer.Name, answer.Response, answer.Err = group.name, nil, group.refusal
		if group.refusal == nil {
			if err := b.next(&answer, asked); err != nil {
				yield(Answer{}, err)
				return
			}
			asked++
		}
		if !yield(answer, nil) {
			return
		}
		answer.Index++
	}
	if err := b.end(); err != nil {
		yield(Answer{}, err)
	}
}

// next receives the answer of the asked-th group that was sent.
func (b *batch) next(answer *Answer, asked int32) error {
	message, err := b.stream.Recv()
	if errors.Is(err, io.EOF) {
		return broken("the server ended the answers after %d, before the last group", asked)
	}
	if err != nil {
		return fromRPC(err)
	}
	if message.Index == nil || message.GetIndex() != asked {
		return broken("the server answered group %d where group %d was due", message.GetIndex(), asked)
	}
	switch body := message.GetAnswer().(type) {
	case *tailboundv1.AssessGroupsResponse_Result:
		answer.Response = body.Result
	case *tailboundv1.AssessGroupsResponse_Error:
		if body.Error.GetCode() == int32(codes.OK) {
			return broken("the server answered group %d with an error that has no code", asked)
		}
		answer.Err = fromStream(body.Error)
	default:
		return broken("the server answered group %d with neither result nor error", asked)
	}
	return nil
}

// end checks that the server has nothing more to say once every group was answered.
func (b *batch) end() error {
	switch _, err := b.stream.Recv(); {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		return fromRPC(err)
	default:
		return broken("the server sent more answers than there were groups")
	}
}

// broken is the error of a stream whose answers cannot be trusted to be whole.
func broken(format string, args ...any) error {
	return fromStatus(status.Newf(codes.DataLoss, format, args...))
}
