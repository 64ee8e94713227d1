package request

import (
	"math"
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// CheckTrace checks what the conversion of a header could not carry over: texts, times and lengths of time. The error is a fault with
// paths from the header on.
func CheckTrace(h *tailboundv1.TraceHeader) error {
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
	return v.fault()
}

func (v *violations) channel(field string, c *tailboundv1.TraceChannel) {
	v.text(field+".agent", c.GetAgent(), longestText)
	v.text(field+".unit", c.GetUnit(), longestUnit)
	v.text(field+".resultUnit", c.GetResultUnit(), longestUnit)
	v.enumerated(field+".fraction", int32(c.GetFraction()), tailboundv1.ParticleFraction_name, "fraction")
	// Inside the service no known top is an infinite one; in a request it is absent.
	if math.IsInf(c.GetFullScale(), 0) {
		v.add(field+".fullScale", "is "+number(c.GetFullScale())+"; accepted is a finite number above the detection limit, or none")
	}
	k := c.GetCalibration()
	if k == nil {
		return
	}
	v.within(field+".calibration.tolerance", k.Tolerance, 0, 1)
	v.moment(field+".calibration.before.time", k.GetBefore().GetTime(), true)
	v.moment(field+".calibration.after.time", k.GetAfter().GetTime(), true)
}

func (v *violations) base(b *tailboundv1.TraceBase) {
	if b == nil {
		return
	}
	v.length("header.base.length", b.GetLength())
	v.enumerated("header.base.gaps", int32(b.GetGaps()), tailboundv1.UnsampledTime_name, "assumption")
	v.enumerated("header.base.outside", int32(b.GetOutside()), tailboundv1.UnsampledTime_name, "assumption")
}
