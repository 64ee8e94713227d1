package main

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"strings"

	"github.com/spf13/cobra"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc/wire"
)

// assessment is the command line of assess.
type assessment struct {
	streams
	desk
	tables
	judging
	belief
	reporting
	figures figures
	format  string
	failOn  string
}

// judging says how groups are judged.
type judging struct {
	percentile, confidence float64
	rule, limitMethod      string
	shifts                 reading.Shifts
	reassessWithin         int
	acceptDependent        bool
}

func newAssess(s streams) *cobra.Command {
	a := &assessment{streams: s}
	c := &cobra.Command{
		Use:   "assess FILE...",
		Short: "Judge groups of readings against their limits",
		Long: `Judge groups of readings against their limits. Each FILE is a table (- is the standard input) whose
header names the columns in any order. Required are zone, agent, result and unit; limit, subject,
campaign, start, minutes and id may be there; --columns says which column is what when they have other
names. A result is 0.12, <0.05 (below the reporting limit), >50 (above the range) or 0.05..0.12; a
limit is 0.5, in the row's unit, or 0.5mg/m3. Lines that begin with # are comments. How the file is
written is found out and told when it is not the usual way: UTF-8, commas, decimal points.

A row that cannot be read is left out: it is listed on the standard error with file, line, column and
reason, and counted. With --strict such a file is refused. Rows that contradict each other always
refuse it, for which of them is right cannot be known.

Readings that share zone and agent are one group, over all files, unless --group-by says otherwise.
A group without a limit is described but not judged.

Readings of at most 4 hours that begin where another one of the zone and subject ends are looked at for
dependence. Where they depend on each other, as the minutes of one shift do, the group is refused:
exposure is judged across shifts. Reduce them to averages of shifts (tailbound reduce), or accept them.

With --mixture, agents with one effect are judged by their additive index as well: the sum, over the
agents, of each reading over its own limit, against 1 (29 CFR 1910.1000(d)(2)). Readings belong
together when they share start and subject or, without a start, id; each needs one of every other
agent that the zone has. What was not detected counts as a range.

Rules:
` + rulesText(),
		Example: `  tailbound assess campaign.csv
  tailbound assess campaign.csv --limits limits.csv --format csv > answers.csv
  tailbound assess campaign.csv --report campaign.html --report-title "Spring campaign"
  tailbound assess campaign.csv --figures figures --figure-format png
  tailbound assess - --limit 0.5mg/m3 --rule upper-limit-95-95 --fail-on not-compliant < kiln.csv`,
		Args: someFiles,
		RunE: func(c *cobra.Command, args []string) error {
			a.files = args
			return a.run(c.Context())
		},
	}
	a.desk.flags(c)
	a.tables.flags(c)
	c.Flags().StringVar(&a.mixture, "mixture", "", "judge the additive index of these `AGENTS`, separated by commas, as well; alone: of "+allAgents)
	c.Flags().Lookup("mixture").NoOptDefVal = allAgents
	a.judging.flags(c)
	a.belief.flags(c)
	a.reporting.flags(c)
	a.figures.flags(c)
	c.Flags().StringVar(&a.format, "format", "table", "write the answers as `table|json|csv`; json is one answer a line")
	c.Flags().StringVar(&a.failOn, "fail-on", "", "exit with code 3 when a group is `not-compliant`")
	completeWith(c, "format", formats()...)
	completeWith(c, "fail-on", notCompliant)
	return c
}

func (t *tables) flags(c *cobra.Command) {
	t.air.flags(c)
	t.fileFlags.flags(c)
	t.columnFlag(c)
	f := c.Flags()
	f.StringVar(&t.limit, "limit", "", "one limit for every group, such as `0.5mg/m3`")
	f.StringVar(&t.limits, "limits", "", "take limits by agent from the table `FILE`, with the columns agent, limit and unit")
	f.DurationVar(&t.combine, "combine-within", 0, "take consecutive samples of one zone and subject together as the average of their shift, when "+
		"they lie within this `LENGTH`, such as 10h")
	f.StringVar(&t.groupBy, "group-by", reading.DefaultKeys.String(), "judge together what shares these `COLUMNS` of zone, agent, subject and campaign")
}

func (j *judging) flags(c *cobra.Command) {
	defaults := assess.Options{}.WithDefaults()
	f := c.Flags()
	f.Float64Var(&j.percentile, "percentile", defaults.Percentile, "the percentile to report, as a `FRACTION`")
	f.Float64Var(&j.confidence, "confidence", defaults.Confidence, "confidence of each one-sided limit, as a `FRACTION`")
	rules := enumNames("RULE_", tailboundv1.Rule_value)
	f.StringVar(&j.rule, "rule", rules[defaults.Rule-1], "judge by the rule `NAME`: "+strings.Join(rules, ", "))
	methods := enumNames("LIMIT_METHOD_", tailboundv1.LimitMethod_value)
	f.StringVar(&j.limitMethod, "limit-method", methods[0], "find limits by `"+strings.Join(methods, "|")+"`")
	f.Float64Var(&j.shifts.DayHours, "shift-hours", 0, "reduce the limits, stated for 8 h a day, for shifts of so many `HOURS`")
	f.Float64Var(&j.shifts.WeekHours, "week-hours", 0, "reduce the limits, stated for 40 h a week, for weeks of so many `HOURS`")
	f.IntVar(&j.reassessWithin, "reassess-within", 0, "assess compliant groups again within so many `MONTHS` at the latest, if the standard asks for no less")
	acceptDependent(c, &j.acceptDependent)
	completeWith(c, "rule", rules...)
	completeWith(c, "limit-method", methods...)
}

// acceptDependent is the flag of every command that fits readings.
func acceptDependent(c *cobra.Command, accepted *bool) {
	c.Flags().BoolVar(accepted, "accept-dependent", false, "take readings that follow one another within a shift although they depend on each "+
		"other, instead of refusing them")
}

// run reads, asks, prints and concludes.
func (a *assessment) run(ctx context.Context) error {
	output, err := newOutput(a.format, a.out)
	if err != nil {
		return usageError{err}
	}
	if a.limit != "" && a.limits != "" {
		return usageError{errors.New("--limit and --limits cannot both be stated")}
	}
	if a.failOn != "" && !strings.EqualFold(a.failOn, notCompliant) {
		return usageError{fmt.Errorf("--fail-on %s: accepted is %s", a.failOn, notCompliant)}
	}
	if err := errors.Join(a.check(), a.figures.check()); err != nil {
		return err
	}
	ask, err := a.question()
	if err != nil {
		return usageError{err}
	}
	groups, err := a.read(a.streams)
	if err != nil {
		return err
	}
	if ask, err = a.add(ask, a.streams, a.tables); err != nil {
		return err
	}
	return a.answer(ctx, groups, ask, output)
}

// question makes the request about a group.
type question func(*reading.TabledGroup) *tailboundv1.AssessGroupRequest

// question says what to ask about every group.
func (j *judging) question() (question, error) {
	rule, err := parseRule(j.rule)
	if err != nil {
		return nil, fmt.Errorf("--rule: %w", err)
	}
	method, err := parseEnum("LIMIT_METHOD_", j.limitMethod, tailboundv1.LimitMethod_value)
	if err != nil {
		return nil, fmt.Errorf("--limit-method: %w", err)
	}
	return func(g *reading.TabledGroup) *tailboundv1.AssessGroupRequest {
		r := wire.FromGroup(g.Group, assess.Options{
			Shifts: j.shifts, ReassessWithin: j.reassessWithin, AcceptDependent: j.acceptDependent,
		})
		r.Percentile, r.Confidence = &j.percentile, &j.confidence
		r.Rule, r.LimitMethod = rule, tailboundv1.LimitMethod(method)
		return r
	}, nil
}

// answer asks about every group and prints the answers in the order of the groups. A refused group is told and does not keep
// the others from their answers.
func (a *assessment) answer(ctx context.Context, groups []*reading.TabledGroup, ask question, output output) error {
	asked, stop, err := a.open()
	if err != nil {
		return err
	}
	bar := newProgress(a.err, len(groups))
	var outcome tally
	for answer, err := range asked.AssessAll(ctx, requests(groups, ask)) {
		bar.step()
		if err == nil {
			err = outcome.take(answer, groups, output)
		}
		if err != nil {
			bar.end()
			return errors.Join(a.explain(err), stop())
		}
	}
	bar.end()
	if outcome.common() == "" {
		if err = output.end(); err == nil {
			err = a.explain(errors.Join(a.write(ctx, asked, groups, ask), a.figures.ofGroups(ctx, a.streams, asked, groups, ask)))
		}
	}
	if err := errors.Join(err, stop()); err != nil {
		return err
	}
	return outcome.conclude(a.streams, a.failOn != "")
}

func requests(groups []*reading.TabledGroup, ask question) iter.Seq[*tailboundv1.AssessGroupRequest] {
	return func(yield func(*tailboundv1.AssessGroupRequest) bool) {
		for _, g := range groups {
			if !yield(ask(g)) {
				return
			}
		}
	}
}
