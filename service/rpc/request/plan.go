package request

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/rpc/wire"
)

// CheckPlan checks what package planning does not: readings, units, and that something is asked. most is as for CheckGroup, and so is
// the error.
func CheckPlan(r *tailboundv1.PlanSamplingRequest, most int) error {
	if len(r.GetReadings()) > 0 {
		if err := CheckGroup(&tailboundv1.AssessGroupRequest{Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit()}, most); err != nil {
			return err
		}
	}
	var v violations
	v.limit(r.GetLimit())
	v.text("unit", r.GetUnit(), longestUnit)
	v.within("power", r.Power, 0, 1)
	if v.enumerated("rule", int32(r.GetRule()), tailboundv1.Rule_name, "rule") {
		if rule := wire.ToRule(r.GetRule()); rule != 0 && !planning.Supported(rule) {
			v.add("rule", "is "+r.GetRule().String()+", which has no number of samples to plan")
		}
	}
	v.enumerated("aim", int32(r.GetAim()), tailboundv1.PlanAim_name, "aim")
	v.assumed(r)
	if g := r.GetGrid(); g != nil && len(g.GetPercentileToLimit())*len(g.GetGeometricStandardDeviation()) == 0 {
		v.add("grid", "is empty; at least one percentileToLimit and one geometricStandardDeviation are required")
	}
	if r.GeometricMean == nil && len(r.GetReadings()) == 0 && r.GetHighest() == nil && r.GetGrid() == nil {
		v.add("", "asks nothing; accepted are geometricMean with geometricStandardDeviation, grid, readings, and highest")
	}
	return v.fault()
}

// assumed wants both numbers of an assumed exposure or none.
func (v *violations) assumed(r *tailboundv1.PlanSamplingRequest) {
	switch {
	case r.GeometricMean == nil && r.GeometricStandardDeviation != nil:
		v.add("geometricMean", "is missing beside geometricStandardDeviation")
	case r.GeometricMean != nil && r.GeometricStandardDeviation == nil:
		v.add("geometricStandardDeviation", "is missing beside geometricMean")
	}
}
