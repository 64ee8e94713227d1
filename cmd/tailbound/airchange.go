package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rpc/wire"
	"example.com/tailbound/service/table"
	"example.com/tailbound/service/trace"
)

// airChange is the command line of airchange.
type airChange struct {
	streams
	desk
	fileFlags
	file, timeColumn, channel, unit, zone, format string
	from, to                                      string
	background, confidence                        float64
	// since and until are what from and to say; zero when they say nothing.
	since, until time.Time
}

func newAirChange(s streams) *cobra.Command {
	a := &airChange{streams: s}
	c := &cobra.Command{
		Use:   "airchange FILE",
		Short: "Find the air-change rate of a room from the decay of a tracer",
		Long: `Find the air-change rate of a room from a stretch of a logger's trace in which a tracer decays, such as
carbon dioxide after people have left. State the stretch by --from and --to: it should begin when the last
person is out and end well before the background is reached. The room is taken as one zone of well-mixed
air with a steady flow and no source.

FILE is a trace as for reduce.`,
		Example: `  tailbound airchange co2.csv --channel co2 --from 2026-03-09T18:05 --to 2026-03-09T19:20 --background 420`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{errors.New("tailbound airchange needs one file of a logger, or - for the standard input")}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			a.file = args[0]
			if !c.Flags().Changed("background") {
				return usageError{errors.New("--background: is missing; state the concentration of the air that comes in, in the unit of the channel")}
			}
			return a.run(c.Context())
		},
	}
	a.desk.flags(c)
	a.fileFlags.flags(c)
	f := c.Flags()
	f.StringVar(&a.timeColumn, "time-column", "", "take the times from the column of this `NAME`, or from two, as DATE+TIME (default the first that holds times)")
	f.StringVar(&a.channel, "channel", "", "the `COLUMN` of the tracer (default the only one beside the time)")
	f.StringVar(&a.from, "from", "", "the decay begins at this `TIME` (default the first row)")
	f.StringVar(&a.to, "to", "", "the decay ends at this `TIME` (default the last row)")
	f.Float64Var(&a.background, "background", 0, "the concentration of the air that comes in, as a `VALUE` in the unit of the channel")
	f.StringVar(&a.unit, "unit", "", "the `UNIT` of the channel (default the one in its header)")
	f.StringVar(&a.zone, "zone", "", "the `ROOM`")
	f.Float64Var(&a.confidence, "confidence", assess.Options{}.WithDefaults().Confidence, "confidence of each one-sided limit, as a `FRACTION`")
	f.StringVar(&a.format, "format", "table", "write the answer as `table|json`")
	completeWith(c, "format", "table", "json")
	return c
}

func (a *airChange) run(ctx context.Context) error {
	if !slices.Contains([]string{"table", "json"}, a.format) {
		return usageError{fmt.Errorf("--format %s: accepted are table, json", a.format)}
	}
	format, err := a.stated()
	if err != nil {
		return err
	}
	if err := a.stretch(timesIn(format.TimeZone)); err != nil {
		return usageError{err}
	}
	return withFile(a.streams, a.file, func(name string, from io.Reader) error {
		log, err := trace.OpenLog(name, from, trace.LogOptions{Format: format, TimeColumn: a.timeColumn})
		if err != nil {
			return err
		}
		question, err := a.question(name, log)
		if err != nil {
			return err
		}
		asked, stop, err := a.open()
		if err != nil {
			return err
		}
		answer, err := asked.EstimateAirChange(ctx, question)
		if err != nil {
			return errors.Join(a.explain(err), stop())
		}
		return errors.Join(a.write(answer), stop())
	})
}

// stretch reads --from and --to.
func (a *airChange) stretch(read timeReader) error {
	for _, flag := range []struct {
		name, text string
		at         *time.Time
	}{{"--from", a.from, &a.since}, {"--to", a.to, &a.until}} {
		if flag.text == "" {
			continue
		}
		at, err := read(flag.text)
		if err != nil {
			return fmt.Errorf("%s: %w", flag.name, err)
		}
		*flag.at = at
	}
	if !a.until.IsZero() && !a.until.After(a.since) {
		return fmt.Errorf("--to: %s is not after --from", a.to)
	}
	return nil
}

// question takes the stretch out of a log. Rows without a value and those that cannot be read are left out.
func (a *airChange) question(name string, log *trace.Log) (*tailboundv1.EstimateAirChangeRequest, error) {
	columns := log.Columns()
	picked, err := a.pick(columns)
	if err != nil {
		return nil, usageError{err}
	}
	q := &tailboundv1.EstimateAirChangeRequest{Background: a.background, Unit: a.unit, Confidence: &a.confidence, Zone: a.zone}
	if q.Unit == "" {
		q.Unit = columns[picked].Unit
	}
	log.Use(picked)
	line := 0
	rejected, err := log.ReadAll(a.strict, func(at time.Time, row []float64) error {
		v := row[picked]
		if at.Before(a.since) || !a.until.IsZero() && at.After(a.until) || v != v { // NaN is no reading.
			return nil
		}
		if n := len(q.GetTimes()); n > 0 && !at.After(q.GetTimes()[n-1].AsTime()) {
			return log.Place().Fault("", "has a time that is not after that of line %d; accepted are rows in the order of time, one at a time", line)
		}
		line = log.Place().Line
		q.Times, q.Values = append(q.Times, timestamppb.New(at)), append(q.Values, v)
		return nil
	})
	if err != nil {
		return nil, err
	}
	a.tell(name, log, rejected)
	if len(q.GetTimes()) == 0 {
		return nil, usageError{fmt.Errorf("--from, --to: no row of %s has a value of %q in that stretch", name, columns[picked].Name)}
	}
	return q, nil
}

func (a *airChange) tell(name string, log *trace.Log, rejected *table.Rejected) {
	tellRejected(a.streams, rejected, log.Rows())
	tellGuesses(a.streams, name, log.Guesses())
	for _, text := range append(log.Notes(), log.Cautions()...) {
		a.notef("note: %s", text)
	}
}

// pick returns the place of the tracer's column.
func (a *airChange) pick(columns []trace.Column) (int, error) {
	if a.channel != "" {
		i, err := place(columns, a.channel)
		if err != nil {
			return 0, fmt.Errorf("--channel: %w", err)
		}
		return i, nil
	}
	if len(columns) == 1 {
		return 0, nil
	}
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.Name
	}
	return 0, fmt.Errorf("--channel: state the column of the tracer; there are %s", strings.Join(names, ", "))
}

func (a *airChange) write(answer *tailboundv1.EstimateAirChangeResponse) error {
	if a.format == "json" {
		return printJSON(a.out, answer)
	}
	return report.AirChangeTable(a.out, wire.ToAirChange(answer), widthOf(a.out))
}
