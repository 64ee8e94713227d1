package main

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

// channelFlags are the flags of reduce that say something of each channel.
type channelFlags struct {
	channels, lines        []string
	agents, units          []string
	limits, scales         []string
	results, masses        []string
	spans, befores, afters []string
	levels                 []string
	sizes, fractions       []string
	tolerance              float64
	correct                bool
}

func (r *channelFlags) flags(f *pflag.FlagSet) {
	f.StringArrayVar(&r.channels, "channel", nil, "use this `COLUMN`; repeat it for more (default every column beside the time)")
	f.StringArrayVar(&r.agents, "agent", nil, "the agent that a column measured, as `COLUMN=AGENT` (default the column's name)")
	f.StringArrayVar(&r.units, "unit", nil, "the unit of a column, as `COLUMN=UNIT`")
	f.StringArrayVar(&r.limits, "detection-limit", nil, "the detection limit of a column, as `COLUMN=VALUE`")
	f.StringArrayVar(&r.scales, "full-scale", nil, "the top of a column's range, as `COLUMN=VALUE`")
	f.StringArrayVar(&r.lines, "sampling-line", nil, "the air came to the sensor of this `COLUMN` through a pumped line")
	f.StringArrayVar(&r.results, "result-unit", nil, "the unit of the readings, as `COLUMN=UNIT` (default that of the column)")
	f.StringArrayVar(&r.masses, "molar-mass", nil, "the molar mass of the agent in g/mol, as `COLUMN=VALUE`, to get from ppm to mg/m3 or back")
	f.StringArrayVar(&r.spans, "span-gas", nil, "the concentration in which the sensor was checked, as `COLUMN=VALUE`")
	f.StringArrayVar(&r.befores, "check-before", nil, "what the sensor showed before, in zero air and in the span gas, as `COLUMN=TIME,ZERO,SPAN`")
	f.StringArrayVar(&r.afters, "check-after", nil, "what the sensor showed after, as `COLUMN=TIME,ZERO,SPAN`")
	f.StringArrayVar(&r.levels, "level", nil, "with --within-period, tell the time over a level in the unit of the readings, as `COLUMN=VALUE`")
	f.StringArrayVar(&r.sizes, "particle-sizes", nil, "the aerodynamic diameters that the sensor of a column sees, in µm, as `COLUMN=LOWER..UPPER`")
	f.StringArrayVar(&r.fractions, "fraction", nil, "the fraction of particles that the limit is for, as `COLUMN="+strings.Join(fractionNames(), "|")+"`")
	f.Float64Var(&r.tolerance, "drift-tolerance", trace.DefaultTolerance, "largest error of a check that passes, as a `FRACTION` of the span gas")
	f.BoolVar(&r.correct, "correct-drift", false, "take the drift between the checks out of the values, instead of only reporting it")
}

// pick returns the places of the named columns; of all when none is named.
func (r *channelFlags) pick(columns []trace.Column) ([]int, error) {
	var picked []int
	for i := range columns {
		if len(r.channels) == 0 {
			picked = append(picked, i)
		}
	}
	for _, name := range r.channels {
		i, err := place(columns, name)
		if err != nil {
			return nil, fmt.Errorf("--channel: %w", err)
		}
		if slices.Contains(picked, i) {
			return nil, fmt.Errorf("--channel: %q stands twice; its readings would count twice", columns[i].Name)
		}
		picked = append(picked, i)
	}
	return picked, nil
}

func place(columns []trace.Column, name string) (int, error) {
	names := make([]string, len(columns))
	for i, c := range columns {
		if strings.EqualFold(c.Name, strings.TrimSpace(name)) {
			return i, nil
		}
		names[i] = c.Name
	}
	return 0, fmt.Errorf("there is no column %q; there are %s", name, strings.Join(names, ", "))
}

// setter gives a channel what a flag says of it.
type setter func(*tailboundv1.TraceChannel, string) error

// describe gives the channels what the flags say of them.
func (r *channelFlags) describe(columns []trace.Column, channels []*tailboundv1.TraceChannel, read timeReader) error {
	for _, flag := range []struct {
		name   string
		values []string
		set    setter
	}{
		{"--agent", r.agents, func(c *tailboundv1.TraceChannel, s string) error { c.Agent = s; return nil }},
		{"--unit", r.units, func(c *tailboundv1.TraceChannel, s string) error { c.Unit = s; return nil }},
		{"--detection-limit", r.limits, numeric(func(c *tailboundv1.TraceChannel, v float64) { c.DetectionLimit = v })},
		{"--full-scale", r.scales, numeric(func(c *tailboundv1.TraceChannel, v float64) { c.FullScale = &v })},
		{"--result-unit", r.results, func(c *tailboundv1.TraceChannel, s string) error { c.ResultUnit = s; return nil }},
		{"--molar-mass", r.masses, numeric(func(c *tailboundv1.TraceChannel, v float64) { c.MolarMass = v })},
		{"--span-gas", r.spans, numeric(func(c *tailboundv1.TraceChannel, v float64) { r.calibration(c).Gas = v })},
		{"--level", r.levels, numeric(func(c *tailboundv1.TraceChannel, v float64) { c.Level = &v })},
		{"--particle-sizes", r.sizes, parseSizes},
		{"--fraction", r.fractions, parseFraction},
		{"--check-before", r.befores, checked(read, func(c *tailboundv1.TraceChannel, k *tailboundv1.CalibrationCheck) { r.calibration(c).Before = k })},
		{"--check-after", r.afters, checked(read, func(c *tailboundv1.TraceChannel, k *tailboundv1.CalibrationCheck) { r.calibration(c).After = k })},
	} {
		for _, text := range namedLast(flag.values) {
			if err := assign(columns, channels, text, flag.set); err != nil {
				return fmt.Errorf("%s: %w", flag.name, err)
			}
		}
	}
	for _, name := range r.lines {
		i, err := place(columns, name)
		if err != nil {
			return fmt.Errorf("--sampling-line: %w", err)
		}
		channels[i].SamplingLine = true
	}
	return nil
}

// namedLast puts what is said of every column before what is said of one, which it must not take back.
func namedLast(values []string) []string {
	sorted := slices.Clone(values)
	slices.SortStableFunc(sorted, func(a, b string) int {
		return cmp.Compare(strings.Count(a, "="), strings.Count(b, "="))
	})
	return sorted
}

// checkUnits refuses a unit for every column where the header of one of those picked states another.
func (r *channelFlags) checkUnits(columns []trace.Column, picked []int) error {
	named := func(column string) bool {
		return slices.ContainsFunc(r.units, func(text string) bool {
			name, _, is := strings.Cut(text, "=")
			return is && strings.EqualFold(strings.TrimSpace(name), column)
		})
	}
	for _, text := range r.units {
		if strings.Contains(text, "=") {
			continue
		}
		for _, i := range picked {
			if stated := columns[i].Unit; stated != "" && !sameUnit(stated, text) && !named(columns[i].Name) {
				return fmt.Errorf("--unit: the header states %s for column %q; name the columns that are in %s, as COLUMN=%s", stated, columns[i].Name, text, text)
			}
		}
	}
	return nil
}

func sameUnit(a, b string) bool {
	v, err := reading.Vapor{}.Convert(1, reading.Unit(a), reading.Unit(b))
	return a == b || err == nil && v == 1
}

// calibration returns that of a channel, which it makes when there is none.
func (r *channelFlags) calibration(c *tailboundv1.TraceChannel) *tailboundv1.TraceCalibration {
	if c.Calibration == nil {
		c.Calibration = &tailboundv1.TraceCalibration{Tolerance: &r.tolerance, Correct: r.correct}
	}
	return c.Calibration
}

func numeric(set func(*tailboundv1.TraceChannel, float64)) setter {
	return func(c *tailboundv1.TraceChannel, text string) error {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return fmt.Errorf("%q is not a number", text)
		}
		set(c, v)
		return nil
	}
}

// checked reads TIME,ZERO,SPAN.
func checked(read timeReader, set func(*tailboundv1.TraceChannel, *tailboundv1.CalibrationCheck)) setter {
	return func(c *tailboundv1.TraceChannel, text string) error {
		wrong := fmt.Errorf("%q is not TIME,ZERO,SPAN, such as 2026-03-09T07:00:00,0.2,101", text)
		parts := strings.Split(text, ",")
		if len(parts) != 3 {
			return wrong
		}
		at, noTime := read(parts[0])
		zero, err := strconv.ParseFloat(strings.TrimSpace(parts[1]), 64)
		span, failed := strconv.ParseFloat(strings.TrimSpace(parts[2]), 64)
		if err != nil || failed != nil {
			return wrong
		}
		if noTime != nil {
			return fmt.Errorf("%w: %w", wrong, noTime)
		}
		set(c, &tailboundv1.CalibrationCheck{Time: timestamppb.New(at), Zero: zero, Span: span})
		return nil
	}
}

// assign reads COLUMN=VALUE, or VALUE for every column.
func assign(columns []trace.Column, channels []*tailboundv1.TraceChannel, text string, set setter) error {
	name, value, named := strings.Cut(text, "=")
	if named {
		i, err := place(columns, name)
		if err != nil {
			return err
		}
		return set(channels[i], strings.TrimSpace(value))
	}
	for _, c := range channels {
		if err := set(c, text); err != nil {
			return err
		}
	}
	return nil
}
