package rpc

import (
	"context"
	"strconv"

	"google.golang.org/protobuf/types/known/durationpb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// usualConfidence is that of each one-sided limit of an air-change rate when none is stated.
const usualConfidence = 0.95

// EstimateAirChange finds the air-change rate of a room from the decay of a tracer.
func (s traceService) EstimateAirChange(ctx context.Context, r *tailboundv1.EstimateAirChangeRequest) (*tailboundv1.EstimateAirChangeResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := s.checkDecay(r); err != nil {
		return nil, err
	}
	a, err := assess.AirChange(airChangeFromProto(r))
	if err != nil {
		return nil, err
	}
	return AirChangeToProto(a), nil
}

// checkDecay checks what the stage does not: the size of the request, texts and times.
func (s *Server) checkDecay(r *tailboundv1.EstimateAirChangeRequest) error {
	var v violations
	if n, most := len(r.GetValues()), s.options.MaxReadings; most > 0 && n > most {
		v.add("values", "has "+strconv.Itoa(n)+" entries; this server takes at most "+strconv.Itoa(most))
		return &fault.Error{Code: fault.TooLarge, Violations: v}
	}
	v.text("unit", r.GetUnit(), longestUnit)
	v.text("zone", r.GetZone(), longestText)
	v.within("confidence", r.Confidence, lowestFraction, highestConfidence)
	for i, t := range r.GetTimes() {
		v.moment("times["+strconv.Itoa(i)+"]", t, true)
	}
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
}

func airChangeFromProto(r *tailboundv1.EstimateAirChangeRequest) *assess.AirChangeOptions {
	o := &assess.AirChangeOptions{
		Values: r.GetValues(), Background: r.GetBackground(), Unit: reading.Unit(r.GetUnit()), Zone: r.GetZone(), Confidence: usualConfidence,
	}
	for _, t := range r.GetTimes() {
		o.Times = append(o.Times, t.AsTime())
	}
	if r.Confidence != nil {
		o.Confidence = r.GetConfidence()
	}
	return o
}

// AirChangeToProto turns the answer into that of the contract. What is not finite is left out.
func AirChangeToProto(a *report.AirChange) *tailboundv1.EstimateAirChangeResponse {
	p := &tailboundv1.EstimateAirChangeResponse{
		Rate:       &tailboundv1.Estimate{Estimate: optional(a.Rate.Estimate), Lower: optional(a.Rate.Lower), Upper: optional(a.Rate.Upper)},
		Confidence: a.Confidence, Values: count(a.Values), Duration: durationpb.New(a.Duration), Zone: a.Zone,
		Notes: each(a.Notes, noteToProto), Methods: each(a.Methods, methodToProto), Caution: a.Caution,
	}
	if finite(a.Correlation) {
		p.Correlation = a.Correlation
	}
	return p
}

// AirChangeFromProto turns an answer back, for a client that prints it.
func AirChangeFromProto(p *tailboundv1.EstimateAirChangeResponse) *report.AirChange {
	return &report.AirChange{
		Zone: p.GetZone(), Rate: estimateFromProto(p.GetRate()), Confidence: p.GetConfidence(),
		Values: int(p.GetValues()), Duration: p.GetDuration().AsDuration(), Correlation: p.GetCorrelation(),
		Notes: list(p.GetNotes(), noteFromProto), Methods: list(p.GetMethods(), methodFromProto), Caution: p.GetCaution(),
	}
}
