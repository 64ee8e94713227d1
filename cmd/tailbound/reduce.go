package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rpc/wire"
	"example.com/tailbound/service/trace"
)

// reduce is the command line of reduce.
type reduce struct {
	streams
	desk
	channelFlags
	fileFlags
	periodFlags
	figures
	file, timeColumn, format     string
	zone, subject, campaign      string
	averaging                    string
	warmUp, interval, sessionGap time.Duration
	coverage                     float64
	jumps                        []string
	skipBackwards                bool
	temperature, pressure        float64
	base                         time.Duration
	gaps, outside                string
	// left says what of the file was left out.
	left string
}

func newReduce(s streams) *cobra.Command {
	r := &reduce{streams: s}
	c := &cobra.Command{
		Use:   "reduce FILE",
		Short: "Turn a data logger's trace into readings",
		Long: `Turn a data logger's trace into readings: averages over the whole session or over each period of it, with
what was under the detection limit or over the full scale kept as bounds. The output is a table that
assess reads; what is not usable is left out and told on the standard error.

FILE has a header, a column of times and one column for each channel; an empty cell is no reading. How the
file is written is found out and told when it is not the usual way. Times without a zone are taken as UTC
unless --time-zone says otherwise. The header may state units, as in "carbon monoxide (ppm)". A row that
cannot be read is left out, and a cell that cannot be read, such as OVER, is no reading of its channel;
each is listed on the standard error and counted, and with --strict refuses the file. A cell such as >500
is read where --full-scale is at most that, one such as <0.1 where --detection-limit is at least that.
Flags that take COLUMN=… hold for every channel when they name no column.`,
		Example: `  tailbound reduce logger.csv --zone "paint shop" --agent "carbon monoxide" --unit ppm --detection-limit 1
  tailbound reduce logger.csv --zone press --averaging 15m --warm-up 10m --format table
  tailbound reduce logger.csv --zone press --base 8h --gaps same --outside zero > shift.csv
  tailbound reduce logger.csv --zone press --task weighing=2026-03-09T08:10,25m --task bagging=2026-03-09T09:00,1h
  tailbound reduce logger.csv --zone press --take largest-15-minute > short-term.csv
  tailbound reduce logger.csv --zone press --within-period --level 'dust=0.5' --format table
  tailbound assess shift.csv --limit 20ppm`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{errors.New("tailbound reduce needs one file of a logger, or - for the standard input")}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			r.file = args[0]
			return r.run(c.Context())
		},
	}
	r.desk.flags(c)
	r.flags(c)
	return c
}

func (r *reduce) flags(c *cobra.Command) {
	f := c.Flags()
	r.channelFlags.flags(f)
	r.fileFlags.flags(c)
	r.periodFlags.flags(c)
	r.figures.flags(c)
	f.StringVar(&r.timeColumn, "time-column", "", "take the times from the column of this `NAME`, or from two, as DATE+TIME (default the first that holds times)")
	f.StringVar(&r.zone, "zone", "", "the `ZONE` in which the instrument stood")
	f.StringVar(&r.subject, "subject", "", "the `PERSON` who carried it, best as a pseudonym")
	f.StringVar(&r.campaign, "campaign", "", "the `CAMPAIGN` that the readings belong to")
	names := enumNames("UNSAMPLED_TIME_", tailboundv1.UnsampledTime_value)
	f.StringVar(&r.gaps, "gaps", names[0], "with --base, take gaps as `"+strings.Join(names, "|")+"`")
	f.StringVar(&r.outside, "outside", names[0], "with --base, take time outside the trace as `"+strings.Join(names, "|")+"`")
	f.StringVar(&r.averaging, "averaging", "session", "average over `LENGTH`, such as 15m, 1h, 8h or 24h, or over the whole session or shift")
	f.DurationVar(&r.warmUp, "warm-up", 0, "leave out this `LENGTH` after the start of each session")
	f.DurationVar(&r.interval, "interval", 0, "the logging interval, a `LENGTH` (default the median of the first ones)")
	f.DurationVar(&r.sessionGap, "session-gap", 0, "rows further apart than this `LENGTH` belong to two sessions (default one session)")
	f.Float64Var(&r.coverage, "coverage", trace.DefaultCoverage, "least covered `FRACTION` of a period that makes its average usable")
	f.StringArrayVar(&r.jumps, "clock-jump", nil, "the clock was set from a row on, counted from 0, as `ROW=AHEAD`, such as 200=1h")
	f.BoolVar(&r.skipBackwards, "skip-backwards", false, "skip rows whose time is before that of an earlier row, instead of refusing them")
	f.DurationVar(&r.base, "base", 0, "average over this `LENGTH`, such as 8h, whatever was sampled of it")
	f.StringVar(&r.format, "format", "csv", "write the readings as `csv|table|json`; csv is what assess reads")
	f.Float64Var(&r.temperature, "temperature", reading.RoomTemperature, "temperature of the air in `°C`, for --result-unit")
	f.Float64Var(&r.pressure, "pressure", reading.RoomPressure, "pressure of the air in `kPa`, for --result-unit")
	completeWith(c, "gaps", names...)
	completeWith(c, "outside", names...)
	completeWith(c, "format", "csv", "table", "json")
}

func (r *reduce) run(ctx context.Context) error {
	if !slices.Contains([]string{"csv", "table", "json"}, r.format) {
		return usageError{fmt.Errorf("--format %s: accepted are csv, table, json", r.format)}
	}
	if err := r.checkFigures(); err != nil {
		return err
	}
	format, err := r.stated()
	if err != nil {
		return err
	}
	take, err := r.taken(r.base)
	if err != nil {
		return usageError{err}
	}
	return withFile(r.streams, r.file, func(name string, from io.Reader) error {
		options := trace.LogOptions{Format: format, TimeColumn: r.timeColumn}
		log, err := trace.OpenLog(name, from, options)
		if err != nil {
			return err
		}
		h, picked, err := r.header(log)
		if err != nil {
			return err
		}
		asked, stop, err := r.open()
		if err != nil {
			return err
		}
		answer, err := asked.ReduceTrace(ctx, h, r.parts(log, h, picked))
		if err != nil {
			return errors.Join(r.explain(err), stop())
		}
		tellGuesses(r.streams, name, log.Guesses())
		for _, text := range log.Notes() {
			r.notef("note: %s", text)
		}
		r.caution(answer, log)
		if err = r.write(answer, take); err == nil {
			err = r.explain(r.drawTrace(ctx, asked, h, options, picked))
		}
		return errors.Join(err, stop())
	})
}

// parts yields the rows of a log in messages of some hundred rows; picked are the places of the channels of the header in a row. Rows
// that cannot be read are left out and told at the end.
func (r *reduce) parts(log *trace.Log, h *tailboundv1.TraceHeader, picked []int) iter.Seq2[*tailboundv1.TraceValues, error] {
	const rows = 512
	stateRanges(log, h, picked)
	order := inOrder{log: log, free: h.GetSkipBackwards() || len(h.GetClockJumps()) > 0}
	return func(yield func(*tailboundv1.TraceValues, error) bool) {
		part := new(tailboundv1.TraceValues)
		rejected, err := log.ReadAll(r.strict, func(at time.Time, row []float64) error {
			if err := order.check(at); err != nil {
				return err
			}
			part.Times = append(part.Times, timestamppb.New(at))
			for _, i := range picked {
				part.Values = append(part.Values, row[i])
			}
			if len(part.GetTimes()) < rows {
				return nil
			}
			full := part
			part = new(tailboundv1.TraceValues)
			if !yield(full, nil) {
				return errStopped
			}
			return nil
		})
		switch {
		case errors.Is(err, errStopped):
		case err != nil:
			yield(nil, err)
		default:
			tellRejected(r.streams, rejected, log.Rows())
			r.left = rejected.Text(log.Rows())
			if log.Rows() == 0 {
				yield(nil, log.Place().Fault("", "is a header without rows"))
			}
			if len(part.GetTimes()) > 0 {
				yield(part, nil)
			}
		}
	}
}

// caution adds to an answer what was left out of the file. A table of results has no room for it: the standard error tells it.
func (r *reduce) caution(answer *tailboundv1.ReduceTraceResponse, log *trace.Log) {
	tell := func(code, text string) {
		answer.Notes = append(answer.Notes, &tailboundv1.Note{Code: code, Severity: tailboundv1.Severity_SEVERITY_CAUTION, Text: text})
	}
	if r.left != "" && r.format != "csv" {
		tell("rejected-rows", r.left)
	}
	for _, text := range log.Cautions() {
		tell("rejected-cells", text)
	}
}

// errStopped: nobody takes further rows.
var errStopped = errors.New("no further rows are taken")

// write prints the answer. A table of results has no room for notes: they go to the standard error.
func (r *reduce) write(answer *tailboundv1.ReduceTraceResponse, take report.Take) error {
	a := wire.ToTrace(answer)
	switch r.format {
	case "json":
		return printJSON(r.out, answer)
	case "table":
		return report.TraceTable(r.out, a, widthOf(r.out))
	}
	for _, n := range a.Notes {
		if n.Severity >= report.Careful {
			r.notef("note: %s", n.Text)
		}
	}
	if r.zone == "" {
		r.notef("note: No zone is stated, and assess groups readings by zone: state --zone, or assess them with --group-by agent.")
	}
	return report.ResultsCSV(r.out, a, take)
}
