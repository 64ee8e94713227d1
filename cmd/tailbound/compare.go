package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc"
)

func newCompare(s streams) *cobra.Command {
	var d desk
	t := tables{groupBy: (reading.ByAgent | reading.ByCampaign).String()}
	c := &cobra.Command{
		Use:   "compare FILE...",
		Short: "Compare campaigns of one agent",
		Long: `Compare the campaigns of one agent, as the column campaign names them, earliest first. Each FILE is a
table as for assess. The answer is one line of JSON.
This version of the service does not have it yet and says so; another one can be asked by --server.`,
		Example: `  tailbound compare spring.csv fall.csv`,
		Args:    someFiles,
		RunE: func(c *cobra.Command, args []string) error {
			t.files = args
			groups, err := t.read(s)
			if err != nil {
				return err
			}
			question, err := comparison(groups)
			if err != nil {
				return usageError{err}
			}
			return d.ask(c.Context(), s.out, func(ctx context.Context, c *client.Client) (proto.Message, error) {
				return c.CompareCampaigns(ctx, question)
			})
		},
	}
	d.flags(c)
	return c
}

// comparison asks about campaigns that can be compared: of one agent, in one unit.
func comparison(groups []*reading.TabledGroup) (*tailboundv1.CompareCampaignsRequest, error) {
	question := &tailboundv1.CompareCampaignsRequest{Unit: string(groups[0].Unit), Agent: groups[0].Agent}
	for _, g := range groups {
		r := rpc.GroupToProto(g.Group, assess.Options{})
		if r.GetAgent() != question.GetAgent() || r.GetUnit() != question.GetUnit() {
			return nil, fmt.Errorf("campaign %s is of %s in %s, campaign %s of %s in %s: only one agent in one unit is compared",
				groups[0].Name, question.GetAgent(), question.GetUnit(), g.Name, r.GetAgent(), r.GetUnit())
		}
		if question.GetLimit() == nil {
			question.Limit = r.GetLimit()
		}
		question.Campaigns = append(question.Campaigns, &tailboundv1.Campaign{Name: g.Name, Readings: r.GetReadings()})
	}
	return question, nil
}
