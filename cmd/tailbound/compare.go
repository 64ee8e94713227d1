package main

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
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

// compare is the command line of compare.
type compare struct {
	streams
	desk
	tables
	order, format                     string
	percentile, confidence, reduction float64
	acceptDependent                   bool
	figures                           figures
}

// The orders of campaigns.
const (
	byDate  = "date"
	asGiven = "given"
)

func newCompare(s streams) *cobra.Command {
	p := &compare{streams: s}
	c := &cobra.Command{
		Use:   "compare FILE...",
		Short: "Compare campaigns: did it get better, by how much, how sure",
		Long: `Compare the campaigns of each agent: how much the upper tail came down from one to the next, and what
may be said of it. Each FILE is a table as for assess. The column campaign names the campaigns; without
it each FILE is one campaign. They are ordered by their first start, or as they come when a campaign
has none.`,
		Example: `  tailbound compare spring.csv fall.csv
  tailbound compare campaigns.csv --limit 0.5mg/m3 --reduction 0.5 --format csv`,
		Args: someFiles,
		RunE: func(c *cobra.Command, args []string) error {
			p.files = args
			return p.run(c.Context())
		},
	}
	p.flags(c)
	return c
}

func (p *compare) flags(c *cobra.Command) {
	p.desk.flags(c)
	p.tables.flags(c)
	f := c.Flags()
	group := f.Lookup("group-by")
	p.groupBy = reading.ByAgent.String()
	group.DefValue, group.Usage = p.groupBy, "compare the campaigns of what shares these `COLUMNS` of zone, agent and subject"
	defaults := assess.Options{}.WithDefaults()
	f.Float64Var(&p.percentile, "percentile", defaults.Percentile, "the percentile to compare, as a `FRACTION`")
	f.Float64Var(&p.confidence, "confidence", defaults.Confidence, "confidence of each one-sided limit, as a `FRACTION`")
	f.Float64Var(&p.reduction, "reduction", 0, "ask for the chance that the percentile fell by at least this `FRACTION`")
	acceptDependent(c, &p.acceptDependent)
	p.figures.flags(c)
	f.StringVar(&p.order, "order", byDate, "order the campaigns by `"+byDate+"|"+asGiven+"`")
	f.StringVar(&p.format, "format", "table", "write the answers as `table|json|csv`; json is one answer a line")
	completeWith(c, "order", byDate, asGiven)
	completeWith(c, "format", formats()...)
}

// run asks about the campaigns of each group. One that is refused does not keep the others from their answers.
func (p *compare) run(ctx context.Context) error {
	if err := p.check(); err != nil {
		return usageError{err}
	}
	if err := p.figures.check(); err != nil {
		return err
	}
	groups, err := p.read(p.streams)
	if err != nil {
		return err
	}
	questions, err := p.questions(groups)
	if err != nil {
		return usageError{err}
	}
	asked, stop, err := p.open()
	if err != nil {
		return err
	}
	var refused error
	var answers []*report.Comparison
	for i, q := range questions {
		answer, err := asked.CompareCampaigns(ctx, q)
		switch {
		case client.IsInvalid(err), client.IsUndetermined(err):
			p.notef("%s: %s", title(groups[i]), namingCampaigns(strings.Join(sentences(err), "; "), q.GetCampaigns()))
			refused = errRefused
		case err != nil:
			return errors.Join(p.explain(err), stop())
		default:
			err := p.write(answer, len(answers) > 0)
			if err == nil {
				err = p.explain(p.figures.ofCampaigns(ctx, asked, i+1, title(groups[i]), q))
			}
			if err != nil {
				return errors.Join(err, stop())
			}
			answers = append(answers, wire.ToComparison(answer))
		}
	}
	if p.format == "csv" {
		err = report.ComparisonCSV(p.out, answers)
	}
	return errors.Join(err, stop(), refused)
}

// check refuses flags that cannot be right.
func (p *compare) check() error {
	switch {
	case p.order != byDate && p.order != asGiven:
		return fmt.Errorf("--order %s: accepted are %s, %s", p.order, byDate, asGiven)
	case !slices.Contains(formats(), p.format):
		return fmt.Errorf("--format %s: accepted are %s", p.format, strings.Join(formats(), ", "))
	case p.limit != "" && p.limits != "":
		return errors.New("--limit and --limits cannot both be stated")
	}
	return nil
}

// campaignPath is how the service names the readings of a campaign in an error.
var campaignPath = regexp.MustCompile(`campaigns\[(\d+)\]\.readings:`)

// namingCampaigns says of which campaign an error is, in place of its number.
func namingCampaigns(text string, campaigns []*tailboundv1.Campaign) string {
	return campaignPath.ReplaceAllStringFunc(text, func(path string) string {
		i, err := strconv.Atoi(campaignPath.FindStringSubmatch(path)[1])
		if err != nil || i >= len(campaigns) {
			return path
		}
		return "readings of " + campaigns[i].GetName() + ":"
	})
}

// title names a group.
func title(g *reading.TabledGroup) string {
	if g.Name == "" {
		return g.Agent
	}
	return g.Name + ", " + g.Agent
}

// questions are one for each group.
func (p *compare) questions(groups []*reading.TabledGroup) ([]*tailboundv1.CompareCampaignsRequest, error) {
	campaigns, err := campaignsOf(groups, p.order)
	if err != nil {
		return nil, err
	}
	out := make([]*tailboundv1.CompareCampaignsRequest, len(groups))
	for i, g := range groups {
		q := &tailboundv1.CompareCampaignsRequest{
			Name: g.Name, Agent: g.Agent, Unit: string(g.Unit), Percentile: &p.percentile, Confidence: &p.confidence,
			Limit: wire.FromGroup(g.Group, assess.Options{}).GetLimit(), AcceptDependent: p.acceptDependent,
		}
		if p.reduction != 0 {
			q.Reduction = &p.reduction
		}
		for _, c := range campaigns[i] {
			r := wire.FromGroup(reading.Group{Readings: c.readings}, assess.Options{})
			q.Campaigns = append(q.Campaigns, &tailboundv1.Campaign{Name: c.name, Readings: r.GetReadings()})
		}
		out[i] = q
	}
	return out, nil
}

// write prints one answer, with a line of space before all but the first. A table for machines is written when all are there.
func (p *compare) write(answer *tailboundv1.CompareCampaignsResponse, further bool) error {
	switch p.format {
	case "json":
		line, err := rest.AppendJSON(nil, answer)
		if err != nil {
			return err
		}
		_, err = p.out.Write(append(line, '\n'))
		return err
	case "csv":
		return nil
	}
	if further {
		if _, err := fmt.Fprint(p.out, "\n\n"); err != nil {
			return err
		}
	}
	return report.ComparisonTable(p.out, wire.ToComparison(answer), widthOf(p.out))
}
