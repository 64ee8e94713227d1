package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
)

func newPlan(s streams) *cobra.Command {
	var d desk
	var rule, limit string
	question := &tailboundv1.PlanSamplingRequest{}
	c := &cobra.Command{
		Use:   "plan",
		Short: "Say how many samples would settle a question",
		Long: `Say what a rule would make of n samples of an assumed exposure, for a range of n. The answer is one
line of JSON. This version of the service does not have it yet and says so; another one can be asked
by --server.`,
		Example: `  tailbound plan --limit 0.5mg/m3 --geometric-mean 0.1 --geometric-standard-deviation 2.2`,
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			value, err := parseRule(rule)
			if err != nil {
				return usageError{fmt.Errorf("--rule: %w", err)}
			}
			l, err := reading.ParseLimit(limit)
			if err != nil {
				return underFlag("--limit", err)
			}
			question.Rule, question.Limit = value, &tailboundv1.Limit{Value: l.Value, Unit: string(l.Unit)}
			return d.ask(c.Context(), s.out, func(ctx context.Context, c *client.Client) (proto.Message, error) {
				return c.PlanSampling(ctx, question)
			})
		},
	}
	d.flags(c)
	f := c.Flags()
	f.StringVar(&rule, "rule", "en689", "plan for the rule `NAME`")
	f.StringVar(&limit, "limit", "", "the limit, such as `0.5mg/m3`")
	f.Float64Var(&question.GeometricMean, "geometric-mean", 0, "assumed geometric mean, in the unit of the limit")
	f.Float64Var(&question.GeometricStandardDeviation, "geometric-standard-deviation", 0, "assumed geometric standard deviation")
	return c
}
