package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rest"
	"example.com/tailbound/service/rpc/wire"
)

// plan is the command line of plan.
type plan struct {
	streams
	desk
	fileFlags
	rule, limit, aim, format string
	geometricMean, spread    float64
	from, to                 int32
	power                    float64
	groupSize                int32
	fraction, confidence     float64
	file                     string
	ratios, spreads          []float64
	acceptDependent          bool
	figures                  figures
	// changed says whether a flag was stated.
	changed func(flag string) bool
}

func newPlan(s streams) *cobra.Command {
	p := &plan{streams: s}
	c := &cobra.Command{
		Use:   "plan [FILE]",
		Short: "Say how many samples would settle a question",
		Long: `Say what a rule would make of n samples: of an assumed exposure (--geometric-mean with
--geometric-standard-deviation), of further samples after the readings in FILE, which are of one
group, and how many people to sample so that one of the highest exposed is among them (--group-size;
0 for a large group).`,
		Example: `  tailbound plan --limit 0.5mg/m3 --geometric-mean 0.1 --geometric-standard-deviation 2.2
  tailbound plan kiln.csv --limit 0.05mg/m3 --rule upper-limit-95-95 --to 30
  tailbound plan --percentile-ratios 0.25,0.5,2 --spreads 1.5,2.5
  tailbound plan --group-size 24 --highest-fraction 0.1 --highest-confidence 0.9`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				p.file = args[0]
			}
			p.changed = c.Flags().Changed
			return p.run(c.Context())
		},
	}
	p.flags(c)
	return c
}

func (p *plan) flags(c *cobra.Command) {
	p.desk.flags(c)
	p.fileFlags.flags(c)
	p.columnFlag(c)
	aims := enumNames("PLAN_AIM_", tailboundv1.PlanAim_value)
	f := c.Flags()
	f.StringVar(&p.rule, "rule", "en689", "plan for the rule `NAME`")
	f.StringVar(&p.limit, "limit", "", "the limit, such as `0.5mg/m3`; it may stand in FILE instead")
	f.Float64Var(&p.geometricMean, "geometric-mean", 0, "assumed geometric mean, a `VALUE` in the unit of the limit")
	f.Float64Var(&p.spread, "geometric-standard-deviation", 0, "assumed geometric standard deviation, a `FACTOR` above 1")
	f.Float64SliceVar(&p.ratios, "percentile-ratios", nil, "plan over a grid: 95th percentiles as multiples of the limit, such as `0.25,0.5,2`")
	f.Float64SliceVar(&p.spreads, "spreads", []float64{1.5, 2, 3}, "geometric standard deviations of that grid, such as `1.5,2,3`")
	f.Lookup("spreads").DefValue, f.Lookup("percentile-ratios").DefValue = "1.5,2,3", ""
	f.Int32Var(&p.from, "from", 3, "smallest `NUMBER` of samples to look at")
	f.Int32Var(&p.to, "to", 60, "largest `NUMBER` of samples, or of further ones, to look at")
	f.Float64Var(&p.power, "power", 0.8, "wanted chance of the aim, as a `FRACTION`")
	f.StringVar(&p.aim, "aim", aims[0], "the outcome wanted, `"+strings.Join(aims, "|")+"`")
	f.Int32Var(&p.groupSize, "group-size", 0, "ask how many of this many `PEOPLE` to sample; 0 for a large group")
	f.Float64Var(&p.fraction, "highest-fraction", 0.1, "`FRACTION` of the group that counts as highest exposed")
	f.Float64Var(&p.confidence, "highest-confidence", 0.9, "wanted chance that one of them is sampled, as a `FRACTION`")
	acceptDependent(c, &p.acceptDependent)
	p.figures.flags(c)
	f.StringVar(&p.format, "format", "table", "write the answer as `table|json`")
	completeWith(c, "aim", aims...)
	completeWith(c, "format", "table", "json")
}

func (p *plan) run(ctx context.Context) error {
	if err := p.figures.check(); err != nil {
		return err
	}
	question, err := p.question()
	if err != nil {
		return err
	}
	asked, stop, err := p.open()
	if err != nil {
		return err
	}
	answer, err := asked.PlanSampling(ctx, question)
	if err != nil {
		return errors.Join(p.explain(err), stop())
	}
	if err := p.figures.ofPlan(ctx, p.streams, asked, question); err != nil {
		return errors.Join(p.explain(err), stop())
	}
	if p.format == "json" {
		line, err := rest.AppendJSON(nil, answer)
		if err == nil {
			_, err = p.out.Write(append(line, '\n'))
		}
		return errors.Join(err, stop())
	}
	return errors.Join(report.PlanTable(p.out, wire.ToPlan(question, answer), 0), stop())
}

// question makes the request of the flags and the file.
func (p *plan) question() (*tailboundv1.PlanSamplingRequest, error) {
	if p.format != "table" && p.format != "json" {
		return nil, usageError{fmt.Errorf("--format %s: accepted are table, json", p.format)}
	}
	rule, err := parseRule(p.rule)
	if err != nil {
		return nil, usageError{fmt.Errorf("--rule: %w", err)}
	}
	aim, err := parseEnum("PLAN_AIM_", p.aim, tailboundv1.PlanAim_value)
	if err != nil {
		return nil, usageError{fmt.Errorf("--aim: %w", err)}
	}
	q := &tailboundv1.PlanSamplingRequest{
		Rule: rule, Aim: tailboundv1.PlanAim(aim), SamplesLower: &p.from, SamplesUpper: &p.to, Power: &p.power,
		AcceptDependent: p.acceptDependent,
	}
	if p.changed("geometric-mean") || p.changed("geometric-standard-deviation") {
		q.GeometricMean, q.GeometricStandardDeviation = &p.geometricMean, &p.spread
	}
	if p.changed("group-size") || p.changed("highest-fraction") || p.changed("highest-confidence") {
		q.Highest = &tailboundv1.HighestExposed{GroupSize: p.groupSize, Fraction: &p.fraction, Confidence: &p.confidence}
	}
	if len(p.ratios) > 0 {
		q.Grid = &tailboundv1.PlanGrid{PercentileToLimit: p.ratios, GeometricStandardDeviation: p.spreads}
	}
	if p.limit != "" {
		l, err := reading.ParseLimit(p.limit)
		if err != nil {
			return nil, underFlag("--limit", err)
		}
		q.Limit = &tailboundv1.Limit{Value: l.Value, Unit: string(l.Unit)}
	}
	return q, p.soFar(q)
}

// soFar adds the readings of the file, all of one group.
func (p *plan) soFar(q *tailboundv1.PlanSamplingRequest) error {
	if p.file == "" {
		return nil
	}
	groups, err := tables{fileFlags: p.fileFlags, files: []string{p.file}, groupBy: reading.DefaultKeys.String(), limit: p.limit}.read(p.streams)
	if err != nil {
		return err
	}
	if len(groups) != 1 {
		return usageError{fmt.Errorf("%s: has %d groups; a plan is for one zone and one agent", p.file, len(groups))}
	}
	g := wire.FromGroup(groups[0].Group, assess.Options{})
	q.Readings, q.Unit = g.GetReadings(), g.GetUnit()
	if g.GetLimit() != nil {
		q.Limit = g.GetLimit()
	}
	return nil
}
