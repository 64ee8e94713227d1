package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

const (
	// mostCampaigns bounds the pairs, of which there are 66 then.
	mostCampaigns = 12
	// leastReduction and mostReduction bound the reduction that can be asked about.
	leastReduction, mostReduction = 0.01, 0.99
)

// CheckCampaigns returns a fault with everything that is wrong with a request, up to MostViolations, or nil. most is the most readings
// that are taken, of all campaigns together; 0 or less is any number.
func CheckCampaigns(r *tailboundv1.CompareCampaignsRequest, most int) error {
	total := 0
	for _, c := range r.GetCampaigns() {
		total += len(c.GetReadings())
	}
	if most > 0 && total > most {
		return tooLarge("campaigns", "have "+strconv.Itoa(total)+" readings together; this server takes at most "+strconv.Itoa(most))
	}
	var v violations
	if n := len(r.GetCampaigns()); n < 2 || n > mostCampaigns {
		v.add("campaigns", "has "+strconv.Itoa(n)+" entries; accepted are 2 to "+strconv.Itoa(mostCampaigns)+" campaigns")
		return v.fault()
	}
	v.judged(r, r.Percentile, r.Confidence)
	v.within("reduction", r.Reduction, leastReduction, mostReduction)
	v.campaigns(r.GetCampaigns())
	return v.fault()
}

// campaigns asks for readings and a name of its own in each.
func (v *violations) campaigns(campaigns []*tailboundv1.Campaign) {
	named := map[string]int{}
	for i, c := range campaigns {
		field := "campaigns[" + strconv.Itoa(i) + "]"
		v.text(field+".name", c.GetName(), longestText)
		if before, taken := named[c.GetName()]; taken {
			v.add(field+".name", "is that of campaigns["+strconv.Itoa(before)+"] too; each campaign has its own")
		}
		named[c.GetName()] = i
		if c.GetName() == "" {
			v.add(field+".name", "is empty; each campaign has a name")
		}
		if len(c.GetReadings()) == 0 {
			v.add(field+".readings", "is empty; at least 1 reading is required")
		}
		v.readings(field+".readings", c.GetReadings())
	}
}
