package wire

import (
	"google.golang.org/protobuf/types/known/durationpb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// usualConfidence is that of each one-sided limit of an air-change rate when none is stated.
const usualConfidence = 0.95

// ToDecay turns a request that has passed its check into what the estimate takes.
func ToDecay(r *tailboundv1.EstimateAirChangeRequest) *assess.AirChangeOptions {
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

// FromAirChange turns the answer into that of the contract. What is not finite is left out.
func FromAirChange(a *report.AirChange) *tailboundv1.EstimateAirChangeResponse {
	p := &tailboundv1.EstimateAirChangeResponse{
		Rate:       &tailboundv1.Estimate{Estimate: optional(a.Rate.Estimate), Lower: optional(a.Rate.Lower), Upper: optional(a.Rate.Upper)},
		Confidence: a.Confidence, Values: count(a.Values), Duration: durationpb.New(a.Duration), Zone: a.Zone,
		Notes: each(a.Notes, fromNote), Methods: each(a.Methods, fromMethod), Caution: a.Caution,
	}
	if finite(a.Correlation) {
		p.Correlation = a.Correlation
	}
	return p
}

// ToAirChange turns an answer back, for a client that prints it.
func ToAirChange(p *tailboundv1.EstimateAirChangeResponse) *report.AirChange {
	return &report.AirChange{
		Zone: p.GetZone(), Rate: toEstimate(p.GetRate()), Confidence: p.GetConfidence(),
		Values: int(p.GetValues()), Duration: p.GetDuration().AsDuration(), Correlation: p.GetCorrelation(),
		Notes: list(p.GetNotes(), toNote), Methods: list(p.GetMethods(), toMethod), Caution: p.GetCaution(),
	}
}
