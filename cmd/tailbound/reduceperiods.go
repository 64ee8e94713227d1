package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

// periodFlags are the flags of reduce that say what is averaged, beside its length, and what becomes a result.
type periodFlags struct {
	origin string
	tasks  []string
	within bool
	take   string
}

// takes are the words for what becomes a result, in the order of report.Take.
func takes() []string { return []string{"average", "largest-15-minute", "peak"} }

func (p *periodFlags) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&p.origin, "period-origin", "", "let a period of --averaging begin at this `TIME`, or at midnight of the first row's day (default the end of the warm-up)")
	f.StringArrayVar(&p.tasks, "task", nil, "average over a task in place of periods, as `NAME=START,LENGTH`, such as weighing=2026-03-09T08:10,25m; repeat it for more")
	f.BoolVar(&p.within, "within-period", false, "describe how the level went up and down within each period, in the table and in json")
	f.StringVar(&p.take, "take", takes()[0], "the result of the csv: `"+strings.Join(takes(), "|")+"`; the largest 15-minute mean is for short-term limits, the peak for ceilings")
	completeWith(c, "take", takes()...)
}

// taken is what --take says.
func (p *periodFlags) taken(base time.Duration) (report.Take, error) {
	for i, name := range takes() {
		if name != p.take {
			continue
		}
		take := report.Take(i)
		if take != report.TakeAverage && base > 0 {
			return 0, fmt.Errorf("--base: goes with --take %s, not with --take %s", takes()[0], p.take)
		}
		return take, nil
	}
	return 0, fmt.Errorf("--take %s: accepted are %s", p.take, strings.Join(takes(), ", "))
}

// describe tells the header; read reads a time.
func (p *periodFlags) describe(h *tailboundv1.TraceHeader, read timeReader) error {
	h.WithinPeriod = p.within
	if p.origin != "" && !strings.EqualFold(p.origin, midnight) {
		at, err := read(p.origin)
		if err != nil {
			return fmt.Errorf("--period-origin: %w", err)
		}
		h.PeriodOrigin = timestamppb.New(at)
	}
	for _, text := range p.tasks {
		task, err := parseTask(text, read)
		if err != nil {
			return fmt.Errorf("--task: %w", err)
		}
		h.Tasks = append(h.Tasks, task)
	}
	if p.origin != "" && h.AveragingPeriod == nil {
		return errors.New("--period-origin: goes with --averaging LENGTH")
	}
	if len(h.GetTasks()) > 0 && h.AveragingPeriod != nil {
		return errors.New("--task: takes the place of --averaging; accepted is one of the two")
	}
	return nil
}

// parseTask reads NAME=START,LENGTH. The name may hold the sign.
func parseTask(text string, read timeReader) (*tailboundv1.TraceTask, error) {
	wrong := fmt.Errorf("%q is not NAME=START,LENGTH, such as weighing=2026-03-09T08:10,25m", text)
	sign, comma := strings.LastIndex(text, "="), strings.LastIndex(text, ",")
	if sign < 1 || comma < sign {
		return nil, wrong
	}
	start, err := read(text[sign+1 : comma])
	d, failed := time.ParseDuration(strings.TrimSpace(text[comma+1:]))
	if failed != nil {
		return nil, wrong
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", wrong, err)
	}
	return &tailboundv1.TraceTask{Name: strings.TrimSpace(text[:sign]), Start: timestamppb.New(start), Length: durationpb.New(d)}, nil
}

// parseSizes reads LOWER..UPPER.
func parseSizes(c *tailboundv1.TraceChannel, text string) error {
	lower, upper, found := strings.Cut(text, "..")
	from, err := strconv.ParseFloat(strings.TrimSpace(lower), 64)
	to, failed := strconv.ParseFloat(strings.TrimSpace(upper), 64)
	if !found || err != nil || failed != nil {
		return fmt.Errorf("%q is not LOWER..UPPER in µm, such as 0.3..10", text)
	}
	c.ParticleSizes = &tailboundv1.ParticleSizes{Lower: from, Upper: to}
	return nil
}

const fractionPrefix = "PARTICLE_FRACTION_"

func fractionNames() []string { return enumNames(fractionPrefix, tailboundv1.ParticleFraction_value) }

func parseFraction(c *tailboundv1.TraceChannel, text string) error {
	f, err := parseEnum(fractionPrefix, text, tailboundv1.ParticleFraction_value)
	c.Fraction = tailboundv1.ParticleFraction(f)
	return err
}

// timeReader reads a time of a flag.
type timeReader func(text string) (time.Time, error)

// timesIn reads times of flags as those of the file are read: without an offset they are of the zone, an offset such as +01:00 or a
// name such as Europe/Paris, or UTC when it is empty. A time that the clock of the zone shows twice, or not at all, is refused.
func timesIn(zone string) timeReader {
	return func(text string) (time.Time, error) {
		text = strings.TrimSpace(text)
		at, wrong := trace.TimeIn(text, zone)
		if _, is := trace.ParseTime(text); !is {
			return at, fmt.Errorf("%q is not a time, such as 2026-03-09T18:05", text)
		}
		if wrong != "" {
			return at, errors.New(wrong)
		}
		return at, nil
	}
}

// midnight is the word for the beginning of the day of the first row.
const midnight = "midnight"

// midnightOf is when the day of the first row begins where the instrument stood; zone is the one stated, empty when none is.
func midnightOf(log *trace.Log, zone string) (time.Time, error) {
	first, zoned, found := log.FirstTime()
	switch {
	case !found:
		return first, errors.New("--period-origin midnight: no time was found in the first rows; state the time")
	case zoned && zone == "":
		return first, errors.New("--period-origin midnight: the times of the file have an offset; state --time-zone, whose midnight is meant")
	}
	begin := time.Date(first.Year(), first.Month(), first.Day(), 0, 0, 0, 0, first.Location())
	if begin.Hour() != 0 {
		return first, fmt.Errorf("--period-origin midnight: the day of the first row has none in %s; state the time", first.Location())
	}
	return begin, nil
}
