package rpc

import (
	"errors"
	"io"
	"math"
	"strconv"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
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
	if err := reduction.takeAll(func() (*tailboundv1.TraceValues, error) {
		r, err := stream.Recv()
		return r.GetValues(), err
	}); err != nil {
		return err
	}
	answer, err := reduction.Finish()
	if err != nil {
		return inRequest(err)
	}
	return stream.SendAndClose(TraceToProto(answer))
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
	if err := checkHeader(h); err != nil {
		return nil, err
	}
	return begunWith(s.traceOptions(h))
}

// traceOptions are those of a header that has passed its check.
func (s *Server) traceOptions(h *tailboundv1.TraceHeader) assess.TraceOptions {
	o := traceFromProto(h)
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

// takeAll adds the rows of every message up to the last.
func (r *reduction) takeAll(next func() (*tailboundv1.TraceValues, error)) error {
	var row []float64
	for {
		values, err := next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
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

// checkHeader checks what the conversion could not carry over: texts, times and lengths of time.
func checkHeader(h *tailboundv1.TraceHeader) error {
	var v violations
	v.text("header.zone", h.GetZone(), longestText)
	v.text("header.subject", h.GetSubject(), longestText)
	v.text("header.campaign", h.GetCampaign(), longestText)
	v.length("header.averagingPeriod", h.GetAveragingPeriod())
	v.length("header.warmUp", h.GetWarmUp())
	v.length("header.interval", h.GetInterval())
	v.length("header.sessionGap", h.GetSessionGap())
	v.within("header.coverage", h.Coverage, 0, 1)
	for i, c := range h.GetChannels() {
		v.channel("header.channels["+strconv.Itoa(i)+"]", c)
	}
	for i, jump := range h.GetClockJumps() {
		v.length("header.clockJumps["+strconv.Itoa(i)+"].ahead", jump.GetAhead())
	}
	v.base(h.GetBase())
	v.moment("header.periodOrigin", h.GetPeriodOrigin(), false)
	for i, k := range h.GetTasks() {
		field := "header.tasks[" + strconv.Itoa(i) + "]"
		v.text(field+".name", k.GetName(), longestText)
		v.moment(field+".start", k.GetStart(), true)
		v.length(field+".length", k.GetLength())
	}
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
}

func (v *violations) channel(field string, c *tailboundv1.TraceChannel) {
	v.text(field+".agent", c.GetAgent(), longestText)
	v.text(field+".unit", c.GetUnit(), longestUnit)
	v.text(field+".resultUnit", c.GetResultUnit(), longestUnit)
	if _, known := tailboundv1.ParticleFraction_name[int32(c.GetFraction())]; !known {
		v.add(field+".fraction", "is "+strconv.Itoa(int(c.GetFraction()))+", which is no fraction of this contract")
	}
	// Inside the service no known top is an infinite one; in a request it is absent.
	if math.IsInf(c.GetFullScale(), 0) {
		v.add(field+".fullScale", "is "+number(c.GetFullScale())+"; accepted is a finite number above the detection limit, or none")
	}
	k := c.GetCalibration()
	if k == nil {
		return
	}
	v.within(field+".calibration.tolerance", k.Tolerance, 0, 1)
	if k.GetBefore().GetTime().CheckValid() != nil {
		v.add(field+".calibration.before.time", "is missing or not a time between the years 1 and 9999")
	}
	if k.GetAfter().GetTime().CheckValid() != nil {
		v.add(field+".calibration.after.time", "is missing or not a time between the years 1 and 9999")
	}
}

// moment accepts an absent time unless it is required.
func (v *violations) moment(field string, t *timestamppb.Timestamp, required bool) {
	if t == nil && !required {
		return
	}
	if t.CheckValid() != nil {
		v.add(field, "is missing or not a time between the years 1 and 9999")
	}
}

func (v *violations) base(b *tailboundv1.TraceBase) {
	if b == nil {
		return
	}
	v.length("header.base.length", b.GetLength())
	v.unsampled("header.base.gaps", b.GetGaps())
	v.unsampled("header.base.outside", b.GetOutside())
}

func (v *violations) unsampled(field string, u tailboundv1.UnsampledTime) {
	if _, known := tailboundv1.UnsampledTime_name[int32(u)]; !known {
		v.add(field, "is "+strconv.Itoa(int(u))+", which is no assumption of this contract")
	}
}
