package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc"
)

func newPartition(s streams) *cobra.Command {
	var d desk
	var by string
	t := tables{groupBy: reading.ByAgent.String()}
	c := &cobra.Command{
		Use:   "partition FILE",
		Short: "Split the variance of readings into between and within zones or subjects",
		Long: `Split the variance of the readings of each agent into between and within zones (or subjects), and say
whether the zones may be pooled. FILE is a table as for assess. The answers are JSON, one a line.
This version of the service does not have it yet and says so; another one can be asked by --server.`,
		Example: `  tailbound partition campaign.csv --by zone`,
		Args:    someFiles,
		RunE: func(c *cobra.Command, args []string) error {
			value, err := parseEnum("PARTITION_BY_", by, tailboundv1.PartitionBy_value)
			if err != nil {
				return usageError{fmt.Errorf("--by: %w", err)}
			}
			t.files = args
			groups, err := t.read(s)
			if err != nil {
				return err
			}
			for _, g := range groups {
				r := rpc.GroupToProto(g.Group, assess.Options{})
				question := &tailboundv1.PartitionGroupRequest{
					Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit(), Agent: r.GetAgent(), By: tailboundv1.PartitionBy(value),
				}
				if err := d.ask(c.Context(), s.out, func(ctx context.Context, c *client.Client) (proto.Message, error) {
					return c.PartitionGroup(ctx, question)
				}); err != nil {
					return err
				}
			}
			return nil
		},
	}
	names := enumNames("PARTITION_BY_", tailboundv1.PartitionBy_value)
	d.flags(c)
	c.Flags().StringVar(&by, "by", names[0], "divide the readings by `"+strings.Join(names, "|")+"`")
	completeWith(c, "by", names...)
	return c
}
