package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// CheckPartition checks what a partition shares with an assessment, and that every reading names what it is divided by. most is as
// for CheckGroup, and so is the error.
func CheckPartition(r *tailboundv1.PartitionGroupRequest, most int) error {
	if err := CheckGroup(&tailboundv1.AssessGroupRequest{
		Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit(), Name: r.GetName(), Agent: r.GetAgent(),
		Percentile: r.Percentile, Confidence: r.Confidence,
	}, most); err != nil {
		return err
	}
	var v violations
	if _, known := tailboundv1.PartitionBy_name[int32(r.GetBy())]; !known {
		v.add("by", "is "+strconv.Itoa(int(r.GetBy()))+", which is nothing that this contract divides by")
	}
	field, name := "zone", (*tailboundv1.Reading).GetZone
	if r.GetBy() == tailboundv1.PartitionBy_PARTITION_BY_SUBJECT {
		field, name = "subject", (*tailboundv1.Reading).GetSubject
	}
	for i, reading := range r.GetReadings() {
		if name(reading) == "" {
			v.add("readings["+strconv.Itoa(i)+"]."+field, "is empty; each reading names its "+field)
		}
	}
	return v.fault()
}
