package main

import (
	"context"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

func newReduce(s streams) *cobra.Command {
	var d desk
	c := &cobra.Command{
		Use:   "reduce FILE",
		Short: "Turn a data logger's trace into readings",
		Long: `Turn a data logger's trace into readings.
This version does not have it yet: no trace is read, and the service is only asked whether it does.`,
		Example: `  tailbound reduce logger.csv`,
		Args:    someFiles,
		RunE: func(c *cobra.Command, _ []string) error {
			return d.ask(c.Context(), s.out, func(ctx context.Context, c *client.Client) (proto.Message, error) {
				return c.ReduceTrace(ctx, &tailboundv1.TraceHeader{}, func(func(*tailboundv1.TraceValues, error) bool) {})
			})
		},
	}
	d.flags(c)
	return c
}
