package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// CheckDecay checks what the stage does not: the size of the request against the most readings that are taken (0 or less is any
// number), texts and times. The error is a fault.
func CheckDecay(r *tailboundv1.EstimateAirChangeRequest, most int) error {
	if n := len(r.GetValues()); most > 0 && n > most {
		return tooLarge("values", "has "+strconv.Itoa(n)+" entries; this server takes at most "+strconv.Itoa(most))
	}
	var v violations
	v.text("unit", r.GetUnit(), longestUnit)
	v.text("zone", r.GetZone(), longestText)
	v.within("confidence", r.Confidence, lowestFraction, highestConfidence)
	for i, t := range r.GetTimes() {
		v.moment("times["+strconv.Itoa(i)+"]", t, true)
	}
	return v.fault()
}
