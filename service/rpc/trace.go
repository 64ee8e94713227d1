package rpc

import (
	"errors"
	"io"
	"strings"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

type traceService struct {
	tailboundv1.UnimplementedTraceServiceServer
	*Server
}

type traceStream = grpc.ClientStreamingServer[tailboundv1.ReduceTraceRequest, tailboundv1.ReduceTraceResponse]

// ReduceTrace makes readings of a trace while it comes in; what it keeps does not grow with the length of the trace.
func (s traceService) ReduceTrace(stream traceStream) error {
	reduction, err := s.beginTrace(stream)
	if err != nil {
		return err
	}
	if err := takeAll(reduction, stream.Recv); err != nil {
		return err
	}
	answer, err := reduction.Finish()
	if err != nil {
		return inRequest(err)
	}
	return stream.SendAndClose(wire.FromTrace(answer))
}

// beginTrace takes the header.
func (s *Server) beginTrace(stream traceStream) (*reduction, error) {
	r, err := stream.Recv()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	h := r.GetHeader()
	if h == nil {
		return nil, fault.Invalid("header", "is missing; the first message carries it")
	}
	if err := request.CheckTrace(h); err != nil {
		return nil, err
	}
	return begunWith(s.traceOptions(h))
}

// traceOptions are those of a header that has passed its check.
func (s *Server) traceOptions(h *tailboundv1.TraceHeader) assess.TraceOptions {
	o := wire.ToTraceOptions(h)
	o.MaxAverages = s.options.MaxReadings
	return o
}

// begunWith begins a reduction.
func begunWith(o assess.TraceOptions) (*reduction, error) {
	begun, err := assess.NewReduction(o)
	if err != nil {
		return nil, inRequest(err)
	}
	return &reduction{Reduction: begun, channels: len(o.Channels)}, nil
}

// reduction feeds a reduction with messages.
type reduction struct {
	*assess.Reduction
	channels int
	rows     int64
}

// part is a message of a stream that carries values.
type part interface {
	GetValues() *tailboundv1.TraceValues
}

// takeAll adds the rows of every message of a stream up to the last.
func takeAll[M part](r *reduction, next func() (M, error)) error {
	var row []float64
	for {
		message, err := next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		values := message.GetValues()
		if values == nil {
			return fault.Invalid("values", "is missing; each message after the first carries values")
		}
		if row, err = r.take(values, row); err != nil {
			return err
		}
	}
}

// take adds the rows of one message; row is room for the values of one.
func (r *reduction) take(p *tailboundv1.TraceValues, row []float64) ([]float64, error) {
	times, values := p.GetTimes(), p.GetValues()
	if len(values) != len(times)*r.channels {
		return row, fault.Invalid("values.values", "has %d entries for %d rows; accepted is one for each row and channel", len(values), len(times))
	}
	for i, at := range times {
		if at.CheckValid() != nil {
			return row, fault.Invalid("values.times", "row %d is not a time between the years 1 and 9999", r.rows)
		}
		row = append(row[:0], values[i*r.channels:(i+1)*r.channels]...)
		if err := r.Add(at.AsTime(), row); err != nil {
			return row, inRequest(err)
		}
		r.rows++
	}
	return row, nil
}

// inRequest puts a fault about an option under the header; one about the values has its whole path.
func inRequest(err error) error {
	var f *fault.Error
	if errors.As(err, &f) && len(f.Violations) > 0 && !strings.HasPrefix(f.Violations[0].Field, "values") {
		return fault.Under("header", err)
	}
	return err
}
