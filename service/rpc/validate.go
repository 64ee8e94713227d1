package rpc

import (
	"errors"
	"math"
	"strconv"
	"unicode/utf8"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// Limits of the contract on a request, beside Options.MaxReadings.
const (
	lowestFraction    = 0.5
	highestPercentile = 0.999
	highestConfidence = 0.9999
	mostBands         = 20
	mostMonths        = 120
	// longestText caps names, zones, subjects, campaigns and ids, in characters.
	longestText = 200
	longestUnit = 32
	// mostViolations is where a check stops looking for more.
	mostViolations = 20
)

// checkGroup returns a fault with everything that is wrong with a request, up to mostViolations, or nil.
func (s *Server) checkGroup(r *tailboundv1.AssessGroupRequest) error {
	var v violations
	n := len(r.GetReadings())
	if most := s.options.MaxReadings; most > 0 && n+len(r.GetPrior().GetCarried().GetReadings()) > most {
		v.add("readings", "has "+strconv.Itoa(n)+" entries; this server takes at most "+strconv.Itoa(most)+", those of the prior included")
		return &fault.Error{Code: fault.TooLarge, Violations: v}
	}
	if n == 0 {
		v.add("readings", "is empty; at least 1 reading is required")
	}
	v.text("name", r.GetName(), longestText)
	v.text("agent", r.GetAgent(), longestText)
	v.text("unit", r.GetUnit(), longestUnit)
	v.limit(r.GetLimit())
	v.within("percentile", r.Percentile, lowestFraction, highestPercentile)
	v.within("confidence", r.Confidence, lowestFraction, highestConfidence)
	v.within("relativeError", r.RelativeError, 0, 1)
	v.within("shiftHours", r.ShiftHours, reading.UsualDay, reading.LongestDay)
	v.within("weekHours", r.WeekHours, reading.UsualWeek, reading.LongestWeek)
	v.months("reassessWithinMonths", r.ReassessWithinMonths)
	v.enumerations(r)
	v.bands(r.GetBands())
	v.method(r)
	v.readings("readings", r.GetReadings())
	v.prior(r.GetPrior())
	v.remarks(r.GetRemarks())
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
}

// violations collects what is wrong, in the order of the checks.
type violations []fault.Violation

func (v *violations) add(field, text string) {
	if len(*v) < mostViolations {
		*v = append(*v, fault.Violation{Field: field, Text: text})
	}
}

func (v *violations) text(field, text string, longest int) {
	if !utf8.ValidString(text) {
		v.add(field, "is not valid UTF-8")
		return
	}
	// Counting is only needed for what has more bytes than the cap has characters.
	if len(text) > longest {
		if n := utf8.RuneCountInString(text); n > longest {
			v.add(field, "has "+strconv.Itoa(n)+" characters; at most "+strconv.Itoa(longest)+" are accepted")
		}
	}
}

func (v *violations) remarks(remarks []string) {
	const most, longest = 20, 500
	if len(remarks) > most {
		v.add("remarks", "has "+strconv.Itoa(len(remarks))+" entries; at most "+strconv.Itoa(most)+" are accepted")
		return
	}
	for i, text := range remarks {
		v.text("remarks["+strconv.Itoa(i)+"]", text, longest)
	}
}

// within accepts an absent value; NaN lies in no range.
func (v *violations) within(field string, value *float64, lowest, highest float64) {
	if value == nil || *value >= lowest && *value <= highest {
		return
	}
	v.add(field, "is "+number(*value)+"; accepted is a number from "+number(lowest)+" to "+number(highest))
}

func (v *violations) months(field string, months *int32) {
	if months != nil && (*months < 1 || *months > mostMonths) {
		v.add(field, "is "+strconv.Itoa(int(*months))+"; accepted is a whole number from 1 to "+strconv.Itoa(mostMonths))
	}
}

func (v *violations) limit(l *tailboundv1.Limit) {
	if l == nil {
		return
	}
	if !positive(l.GetValue()) {
		v.add("limit.value", "is "+number(l.GetValue())+"; accepted is a finite number greater than 0")
	}
	v.text("limit.unit", l.GetUnit(), longestUnit)
}

func (v *violations) enumerations(r *tailboundv1.AssessGroupRequest) {
	if _, known := tailboundv1.Rule_name[int32(r.GetRule())]; !known {
		v.add("rule", "is "+strconv.Itoa(int(r.GetRule()))+", which is no rule of this contract")
	}
	if _, known := tailboundv1.LimitMethod_name[int32(r.GetLimitMethod())]; !known {
		v.add("limitMethod", "is "+strconv.Itoa(int(r.GetLimitMethod()))+", which is no method of this contract")
	}
}

// method keeps calibrated limits to what they are calibrated for.
func (v *violations) method(r *tailboundv1.AssessGroupRequest) {
	if r.GetLimitMethod() != tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED {
		return
	}
	if !priorFromProto(r.GetPrior()).IsReference() || r.GetRelativeError() > 0 {
		v.add("limitMethod", "is LIMIT_METHOD_CALIBRATED, which takes the reference prior and no relativeError; with another prior or a "+
			"measurement error LIMIT_METHOD_POSTERIOR is accepted")
	}
}

func (v *violations) bands(bands []float64) {
	if len(bands) > mostBands {
		v.add("bands", "has "+strconv.Itoa(len(bands))+" edges; at most "+strconv.Itoa(mostBands)+" are accepted")
		return
	}
	before := 0.0
	for i, edge := range bands {
		field := "bands[" + strconv.Itoa(i) + "]"
		switch {
		case !positive(edge):
			v.add(field, "is "+number(edge)+"; accepted is a finite number greater than 0")
		case edge <= before:
			v.add(field, "is "+number(edge)+", not above the edge before it, "+number(before))
		}
		before = edge
	}
}

// prior checks the earlier readings by themselves, so that their paths are those of the request.
func (v *violations) prior(p *tailboundv1.Prior) {
	before := len(*v)
	v.readings("prior.carried.readings", p.GetCarried().GetReadings())
	if len(*v) > before {
		return
	}
	if err := priorFromProto(p).Check(); err != nil {
		v.join(err)
	}
}

func (v *violations) readings(field string, readings []*tailboundv1.Reading) {
	for i, r := range readings {
		if len(*v) >= mostViolations {
			return
		}
		for _, part := range checkReading(r) {
			if part.Field != "" {
				part.Field = "." + part.Field
			}
			v.add(field+"["+strconv.Itoa(i)+"]"+part.Field, part.Text)
		}
	}
}

// checkReading returns what is wrong with one reading, by paths inside it. It allocates nothing when nothing is wrong.
func checkReading(p *tailboundv1.Reading) violations {
	var v violations
	if p.GetResult() == nil {
		v.add("", "has no result; accepted is one of value, below, above and between")
	} else if err := readingFromProto(p).Check(); err != nil {
		v.join(err)
	}
	v.text("zone", p.GetZone(), longestText)
	v.text("subject", p.GetSubject(), longestText)
	v.text("campaign", p.GetCampaign(), longestText)
	v.text("id", p.GetId(), longestText)
	if start := p.GetStart(); start != nil && start.CheckValid() != nil {
		v.add("start", "is not a time between the years 1 and 9999")
	}
	if d := p.GetDuration(); d != nil && (d.CheckValid() != nil || d.AsDuration() <= 0) {
		v.add("duration", "is not a positive duration")
	}
	return v
}

// join adds the violations of a fault.
func (v *violations) join(err error) {
	var e *fault.Error
	if errors.As(err, &e) && len(e.Violations) > 0 {
		*v = append(*v, e.Violations...)
		return
	}
	v.add("", err.Error())
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
