package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rest"
	"example.com/tailbound/service/rpc/wire"
)

// partition is the command line of partition.
type partition struct {
	streams
	desk
	tables
	by, format             string
	percentile, confidence float64
	acceptDependent        bool
}

func newPartition(s streams) *cobra.Command {
	p := &partition{streams: s, tables: tables{groupBy: reading.ByAgent.String()}}
	c := &cobra.Command{
		Use:   "partition FILE...",
		Short: "Split the variance of readings into between and within zones or subjects",
		Long: `Split the variance of the readings of each agent into between and within zones (or subjects): how much
they differ, the chance that one of them has its own percentile above the limit, whether they may be
pooled, and how they might be divided. Each FILE is a table as for assess.`,
		Example: `  tailbound partition campaign.csv --by zone
  tailbound partition welders.csv --by subject --limit 0.5mg/m3 --format json`,
		Args: someFiles,
		RunE: func(c *cobra.Command, args []string) error {
			p.files = args
			return p.run(c.Context())
		},
	}
	names := enumNames("PARTITION_BY_", tailboundv1.PartitionBy_value)
	defaults := assess.Options{}.WithDefaults()
	p.desk.flags(c)
	p.air.flags(c)
	p.fileFlags.flags(c)
	p.columnFlag(c)
	f := c.Flags()
	f.StringVar(&p.by, "by", names[0], "divide the readings by `"+strings.Join(names, "|")+"`")
	f.StringVar(&p.limit, "limit", "", "one limit for every agent, such as `0.5mg/m3`")
	f.StringVar(&p.limits, "limits", "", "take limits by agent from the table `FILE`, with the columns agent, limit and unit")
	f.Float64Var(&p.percentile, "percentile", defaults.Percentile, "the percentile to judge, as a `FRACTION`")
	f.Float64Var(&p.confidence, "confidence", defaults.Confidence, "confidence of each one-sided limit, as a `FRACTION`")
	acceptDependent(c, &p.acceptDependent)
	f.StringVar(&p.format, "format", "table", "write the answers as `table|json`; json is one answer a line")
	completeWith(c, "by", names...)
	completeWith(c, "format", "table", "json")
	return c
}

// run asks about the readings of each agent. One that is refused does not keep the others from their answers.
func (p *partition) run(ctx context.Context) error {
	by, err := parseEnum("PARTITION_BY_", p.by, tailboundv1.PartitionBy_value)
	if err != nil {
		return usageError{fmt.Errorf("--by: %w", err)}
	}
	if p.format != "table" && p.format != "json" {
		return usageError{fmt.Errorf("--format %s: accepted are table, json", p.format)}
	}
	groups, err := p.read(p.streams)
	if err != nil {
		return err
	}
	asked, stop, err := p.open()
	if err != nil {
		return err
	}
	var refused error
	for i, g := range groups {
		r := wire.FromGroup(g.Group, assess.Options{})
		answer, err := asked.PartitionGroup(ctx, &tailboundv1.PartitionGroupRequest{
			Readings: r.GetReadings(), Unit: r.GetUnit(), Limit: r.GetLimit(), Agent: r.GetAgent(), Name: r.GetName(),
			By: tailboundv1.PartitionBy(by), Percentile: &p.percentile, Confidence: &p.confidence,
			AcceptDependent: p.acceptDependent,
		})
		switch {
		case client.IsInvalid(err), client.IsUndetermined(err):
			p.notef("%s: %s", g.Agent, refusal(err, g))
			refused = errRefused
		case err != nil:
			return errors.Join(p.explain(err), stop())
		default:
			if err := p.write(answer, i > 0); err != nil {
				return errors.Join(err, stop())
			}
		}
	}
	return errors.Join(stop(), refused)
}

// write prints one answer, with a line of space before all but the first.
func (p *partition) write(answer *tailboundv1.PartitionGroupResponse, further bool) error {
	if p.format == "json" {
		line, err := rest.AppendJSON(nil, answer)
		if err != nil {
			return err
		}
		_, err = p.out.Write(append(line, '\n'))
		return err
	}
	if further {
		if _, err := fmt.Fprint(p.out, "\n\n"); err != nil {
			return err
		}
	}
	return report.PartitionTable(p.out, wire.ToPartition(answer), 0)
}
