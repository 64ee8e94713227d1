package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/report/document"
)

// mostGroups caps the groups of a report.
const mostGroups = 1000

// CheckReport looks at what is not about a single group. The error is a fault.
func CheckReport(r *tailboundv1.RenderReportRequest) error {
	switch n := len(r.GetGroups()); {
	case n == 0:
		return fault.Invalid("groups", "is empty; at least 1 group is required")
	case n > mostGroups:
		return tooLarge("groups", "has "+strconv.Itoa(n)+" entries; a report takes at most "+strconv.Itoa(mostGroups))
	}
	var v violations
	v.text("title", r.GetTitle(), longestText)
	if err := v.fault(); err != nil {
		return err
	}
	return document.CheckLanguage(r.GetLanguage())
}
