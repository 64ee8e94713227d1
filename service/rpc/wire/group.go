// Package wire turns the messages of the contract into the terms of the stages and back. It alone knows how the two stand to each
// other. To… makes a value of the stages of a message, From… a message of such a value; what is not determined is NaN in the one and
// absent in the other, so that NaN and infinities never reach the wire. Nothing is checked here: a server has package request do that
// first, a client trusts its server.
package wire

import (
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// ToGroup turns a request into a group and how to judge it. It checks nothing: a server checks first.
func ToGroup(r *tailboundv1.AssessGroupRequest) (reading.Group, assess.Options) {
	g := reading.Group{
		Name: r.GetName(), Agent: r.GetAgent(), Unit: reading.Unit(r.GetUnit()),
		Readings: toReadings(r.GetReadings()), Remarks: r.GetRemarks(),
	}
	if l := r.GetLimit(); l != nil {
		g.Limit = &reading.Limit{Value: l.GetValue(), Unit: reading.Unit(l.GetUnit())}
	}
	return g, assess.Options{
		Percentile: r.GetPercentile(), Confidence: r.GetConfidence(),
		Rule: ToRule(r.GetRule()), Bands: r.GetBands(), Prior: ToPrior(r.GetPrior()),
		Calibrated:    r.GetLimitMethod() == tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED,
		RelativeError: r.GetRelativeError(),
		Shifts:        reading.Shifts{DayHours: r.GetShiftHours(), WeekHours: r.GetWeekHours()}, ReassessWithin: int(r.GetReassessWithinMonths()),
		AcceptDependent: r.GetAcceptDependent(),
		Curves:          r.GetCurves(),
	}
}

// FromGroup turns a group and how to judge it into a request. Options at their zero value are left to the server.
func FromGroup(g reading.Group, o assess.Options) *tailboundv1.AssessGroupRequest {
	r := &tailboundv1.AssessGroupRequest{
		Name: g.Name, Agent: g.Agent, Unit: string(g.Unit), Rule: fromRule(o.Rule), Bands: o.Bands,
		Readings: fromReadings(g.Readings), Prior: fromPrior(o.Prior), AcceptDependent: o.AcceptDependent,
		Curves: o.Curves, Remarks: g.Remarks,
	}
	if g.Limit != nil {
		r.Limit = &tailboundv1.Limit{Value: g.Limit.Value, Unit: string(g.Limit.Unit)}
	}
	r.Percentile, r.Confidence, r.RelativeError = stated(o.Percentile), stated(o.Confidence), stated(o.RelativeError)
	r.ShiftHours, r.WeekHours = stated(o.Shifts.DayHours), stated(o.Shifts.WeekHours)
	r.ReassessWithinMonths = stated(count(o.ReassessWithin))
	if o.Calibrated {
		r.LimitMethod = tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED
	}
	return r
}

// ToReading turns a reading. It leaves one without a result detected at 0, which no check accepts.
func ToReading(p *tailboundv1.Reading) reading.Reading {
	var r reading.Reading
	switch result := p.GetResult().(type) {
	case *tailboundv1.Reading_Value:
		r = reading.At(result.Value)
	case *tailboundv1.Reading_Below:
		r = reading.Under(result.Below)
	case *tailboundv1.Reading_Above:
		r = reading.Over(result.Above)
	case *tailboundv1.Reading_Between:
		r = reading.Within(result.Between.GetLower(), result.Between.GetUpper())
	}
	r.Zone, r.Subject, r.Campaign, r.ID = p.GetZone(), p.GetSubject(), p.GetCampaign(), p.GetId()
	if start := p.GetStart(); start != nil {
		r.Start = start.AsTime()
	}
	if duration := p.GetDuration(); duration != nil {
		r.Duration = duration.AsDuration()
	}
	return r
}

func fromReading(r *reading.Reading) *tailboundv1.Reading {
	p := &tailboundv1.Reading{
		Zone: r.Zone, Subject: r.Subject, Campaign: r.Campaign, Id: r.ID,
		Start: fromTime(r.Start), Duration: fromDuration(r.Duration),
	}
	switch r.Kind {
	case reading.Detected:
		p.Result = &tailboundv1.Reading_Value{Value: r.Lower}
	case reading.Below:
		p.Result = &tailboundv1.Reading_Below{Below: r.Upper}
	case reading.Above:
		p.Result = &tailboundv1.Reading_Above{Above: r.Lower}
	case reading.Between:
		p.Result = &tailboundv1.Reading_Between{Between: &tailboundv1.Interval{Lower: r.Lower, Upper: r.Upper}}
	}
	return p
}

func fromTime(t time.Time) *timestamppb.Timestamp {
	if t.IsZero() {
		return nil
	}
	return timestamppb.New(t)
}

func fromDuration(d time.Duration) *durationpb.Duration {
	if d == 0 {
		return nil
	}
	return durationpb.New(d)
}

// The numbers of rules, outcomes and severities are those of the contract; a test walks every value by name. A number
// that the contract does not have, as from a newer peer, becomes the unspecified one.

// ToRule is the rule of a number; 0 is no rule of this contract.
func ToRule(r tailboundv1.Rule) decision.Rule {
	if _, known := tailboundv1.Rule_name[int32(r)]; !known {
		return 0
	}
	return decision.Rule(r) //nolint:gosec // Known values are small.
}

func fromRule(r decision.Rule) tailboundv1.Rule { return tailboundv1.Rule(r) }
