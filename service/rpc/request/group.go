// Package request checks the requests of the contract before anything is made of them, so that a caller learns of everything that is
// wrong at once, each by the path of its field. It checks what the contract says; what only a stage can know, the stage checks. It also
// makes the digest of a request.
package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc/wire"
)

// Limits of the contract on a request, beside the number of readings.
const (
	lowestFraction    = 0.5
	highestPercentile = 0.999
	highestConfidence = 0.9999
	mostBands         = 20
	mostMonths        = 120
	// longestText caps names, zones, subjects, campaigns and ids, in characters.
	longestText = 200
	longestUnit = 32
)

// CheckGroup returns a fault with everything that is wrong with a request, up to MostViolations, or nil. most is the most readings
// that are taken, those of the prior included; 0 or less is any number.
func CheckGroup(r *tailboundv1.AssessGroupRequest, most int) error {
	n := len(r.GetReadings())
	if most > 0 && n+len(r.GetPrior().GetCarried().GetReadings()) > most {
		return tooLarge("readings", "has "+strconv.Itoa(n)+" entries; this server takes at most "+strconv.Itoa(most)+", those of the prior included")
	}
	var v violations
	if n == 0 {
		v.add("readings", "is empty; at least 1 reading is required")
	}
	v.judged(r, r.Percentile, r.Confidence)
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
	return v.fault()
}

// judged is what all requests have that judge readings by a limit.
type judged interface {
	GetName() string
	GetAgent() string
	GetUnit() string
	GetLimit() *tailboundv1.Limit
}

func (v *violations) judged(r judged, percentile, confidence *float64) {
	v.text("name", r.GetName(), longestText)
	v.text("agent", r.GetAgent(), longestText)
	v.text("unit", r.GetUnit(), longestUnit)
	v.limit(r.GetLimit())
	v.within("percentile", percentile, lowestFraction, highestPercentile)
	v.within("confidence", confidence, lowestFraction, highestConfidence)
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

func (v *violations) months(field string, months *int32) {
	if months != nil && (*months < 1 || *months > mostMonths) {
		v.add(field, "is "+strconv.Itoa(int(*months))+"; accepted is a whole number from 1 to "+strconv.Itoa(mostMonths))
	}
}

func (v *violations) enumerations(r *tailboundv1.AssessGroupRequest) {
	v.enumerated("rule", int32(r.GetRule()), tailboundv1.Rule_name, "rule")
	v.enumerated("limitMethod", int32(r.GetLimitMethod()), tailboundv1.LimitMethod_name, "method")
}

// method keeps calibrated limits to what they are calibrated for.
func (v *violations) method(r *tailboundv1.AssessGroupRequest) {
	if r.GetLimitMethod() != tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED {
		return
	}
	if !wire.ToPrior(r.GetPrior()).IsReference() || r.GetRelativeError() > 0 {
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
	if err := wire.ToPrior(p).Check(); err != nil {
		v.join(err)
	}
}

func (v *violations) readings(field string, readings []*tailboundv1.Reading) {
	for i, r := range readings {
		if len(*v) >= MostViolations {
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
	} else if err := wire.ToReading(p).Check(); err != nil {
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
