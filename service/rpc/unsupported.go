package rpc

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
)

// refuseLater names the first thing that a sound request asks for and this version does not have.
func refuseLater(r *tailboundv1.AssessGroupRequest) error {
	if rule := ruleFromProto(r.GetRule()); rule != 0 && !decision.Supported(rule) {
		return notYet("rule", r.GetRule().String(), supportedRules())
	}
	return nil
}

// notYet is a refusal with one plain sentence that names the field.
func notYet(field, what, accepted string) error {
	return fault.Unimplemented("%s: %s is part of the contract, but this version of the service does not have it yet; accepted is %s", field, what, accepted)
}

func supportedRules() string {
	var names string
	for n := tailboundv1.Rule_RULE_EN689; ; n++ {
		if _, known := tailboundv1.Rule_name[int32(n)]; !known {
			return names
		}
		if !decision.Supported(ruleFromProto(n)) {
			continue
		}
		if names != "" {
			names += " or "
		}
		names += n.String()
	}
}
