package request

import (
	"maps"
	"slices"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc/wire"
	"example.com/tailbound/service/trace"
)

// CheckResults checks how a file of results is to be read. The error is a fault.
func CheckResults(r *tailboundv1.ReadResultsRequest) error {
	var v violations
	v.text("name", r.GetName(), longestText)
	v.text("unit", r.GetUnit(), longestUnit)
	v.format(r.GetFormat())
	for _, role := range slices.Sorted(maps.Keys(r.GetColumns())) {
		v.text("columns", role, longestText)
		v.text("columns", r.GetColumns()[role], longestText)
	}
	for _, key := range r.GetGroupBy() {
		v.text("groupBy", key, longestText)
	}
	v.length("combineWithin", r.GetCombineWithin())
	if d := r.GetCombineWithin().AsDuration(); d < 0 || d > reading.LongestCombined {
		v.add("combineWithin", "is "+trace.Length(d)+"; accepted is a length of time from 0 to 24 h")
	}
	return v.fault()
}

// CheckLog checks how the file of a logger is to be read. The error is a fault.
func CheckLog(r *tailboundv1.ReadLogRequest) error {
	var v violations
	v.text("name", r.GetName(), longestText)
	v.text("timeColumn", r.GetTimeColumn(), longestText)
	v.format(r.GetFormat())
	return v.fault()
}

func (v *violations) format(f *tailboundv1.TextFormat) {
	v.text("format.encoding", f.GetEncoding(), longestText)
	v.text("format.delimiter", f.GetDelimiter(), longestText)
	v.text("format.decimalMark", f.GetDecimalMark(), longestText)
	v.text("format.dateOrder", f.GetDateOrder(), longestText)
	v.text("format.timeZone", f.GetTimeZone(), longestText)
	if len(*v) > 0 {
		return
	}
	if err := wire.ToFormat(f).Check(); err != nil {
		v.under("format", err)
	}
}
