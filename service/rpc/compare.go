package rpc

import (
	"context"
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

const (
	// mostCampaigns bounds the pairs, of which there are 66 then.
	mostCampaigns = 12
	// leastReduction and mostReduction bound the reduction that can be asked about.
	leastReduction, mostReduction = 0.01, 0.99
)

type comparisonService struct {
	tailboundv1.UnimplementedComparisonServiceServer
	*Server
}

// CompareCampaigns assesses each campaign and compares every pair.
func (s comparisonService) CompareCampaigns(ctx context.Context, r *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := s.checkCampaigns(r); err != nil {
		return nil, err
	}
	a, err := s.compare(comparisonFromRequest(r))
	if err != nil {
		return nil, err
	}
	return ComparisonToProto(a), nil
}

// checkCampaigns returns a fault with everything that is wrong with a request, or nil.
func (s *Server) checkCampaigns(r *tailboundv1.CompareCampaignsRequest) error {
	var v violations
	total := 0
	for _, c := range r.GetCampaigns() {
		total += len(c.GetReadings())
	}
	if most := s.options.MaxReadings; most > 0 && total > most {
		v.add("campaigns", "have "+strconv.Itoa(total)+" readings together; this server takes at most "+strconv.Itoa(most))
		return &fault.Error{Code: fault.TooLarge, Violations: v}
	}
	if n := len(r.GetCampaigns()); n < 2 || n > mostCampaigns {
		v.add("campaigns", "has "+strconv.Itoa(n)+" entries; accepted are 2 to "+strconv.Itoa(mostCampaigns)+" campaigns")
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	v.text("name", r.GetName(), longestText)
	v.text("agent", r.GetAgent(), longestText)
	v.text("unit", r.GetUnit(), longestUnit)
	v.limit(r.GetLimit())
	v.within("percentile", r.Percentile, lowestFraction, highestPercentile)
	v.within("confidence", r.Confidence, lowestFraction, highestConfidence)
	v.within("reduction", r.Reduction, leastReduction, mostReduction)
	v.campaigns(r.GetCampaigns())
	if len(v) > 0 {
		return &fault.Error{Code: fault.InvalidArgument, Violations: v}
	}
	return nil
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
