package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/trace"
)

// header makes the header of the flags and the columns; picked are the places of the channels among the columns.
func (r *reduce) header(columns []trace.Column) (h *tailboundv1.TraceHeader, picked []int, err error) {
	h = &tailboundv1.TraceHeader{
		Zone: r.zone, Subject: r.subject, Campaign: r.campaign, WarmUp: length(r.warmUp), Interval: length(r.interval),
		SessionGap: length(r.sessionGap), Coverage: &r.coverage, SkipBackwards: r.skipBackwards,
	}
	if picked, err = pick(columns, r.channels); err != nil {
		return nil, nil, usageError{err}
	}
	channels := make([]*tailboundv1.TraceChannel, len(columns))
	for i, c := range columns {
		channels[i] = &tailboundv1.TraceChannel{Agent: c.Name, Unit: c.Unit}
	}
	for _, parse := range []func() error{
		func() error { return r.describe(columns, channels) },
		func() error { return r.clock(h) },
		func() error { return r.lengths(h) },
	} {
		if err := parse(); err != nil {
			return nil, nil, usageError{err}
		}
	}
	for _, i := range picked {
		if channels[i].GetUnit() == "" {
			return nil, nil, usageError{fmt.Errorf("--unit: the unit of column %q is not stated, and stands in brackets in no header", columns[i].Name)}
		}
		h.Channels = append(h.Channels, channels[i])
	}
	return h, picked, nil
}

// pick returns the places of the named columns; of all when none is named.
func pick(columns []trace.Column, names []string) ([]int, error) {
	var picked []int
	for i := range columns {
		if len(names) == 0 {
			picked = append(picked, i)
		}
	}
	for _, name := range names {
		i, err := place(columns, name)
		if err != nil {
			return nil, fmt.Errorf("--channel: %w", err)
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

// describe gives the channels what the flags say of them.
func (r *reduce) describe(columns []trace.Column, channels []*tailboundv1.TraceChannel) error {
	number := func(set func(*tailboundv1.TraceChannel, float64)) func(*tailboundv1.TraceChannel, string) error {
		return func(c *tailboundv1.TraceChannel, text string) error {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return fmt.Errorf("%q is not a number", text)
			}
			set(c, v)
			return nil
		}
	}
	for _, flag := range []struct {
		name   string
		values []string
		set    func(*tailboundv1.TraceChannel, string) error
	}{
		{"--agent", r.agents, func(c *tailboundv1.TraceChannel, s string) error { c.Agent = s; return nil }},
		{"--unit", r.units, func(c *tailboundv1.TraceChannel, s string) error { c.Unit = s; return nil }},
		{"--detection-limit", r.limits, number(func(c *tailboundv1.TraceChannel, v float64) { c.DetectionLimit = v })},
		{"--full-scale", r.scales, number(func(c *tailboundv1.TraceChannel, v float64) { c.FullScale = &v })},
	} {
		for _, text := range flag.values {
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

// assign reads COLUMN=VALUE, or VALUE for every column.
func assign(columns []trace.Column, channels []*tailboundv1.TraceChannel, text string, set func(*tailboundv1.TraceChannel, string) error) error {
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

func (r *reduce) clock(h *tailboundv1.TraceHeader) error {
	for _, text := range r.jumps {
		row, ahead, found := strings.Cut(text, "=")
		n, err := strconv.ParseInt(row, 10, 64)
		d, wrong := time.ParseDuration(ahead)
		if !found || err != nil || wrong != nil {
			return fmt.Errorf("--clock-jump: %q is not ROW=AHEAD, such as 200=1h", text)
		}
		h.ClockJumps = append(h.ClockJumps, &tailboundv1.ClockJump{Row: n, Ahead: durationpb.New(d)})
	}
	return nil
}

func (r *reduce) lengths(h *tailboundv1.TraceHeader) error {
	if r.averaging != "session" {
		d, err := time.ParseDuration(r.averaging)
		if err != nil || d <= 0 {
			return fmt.Errorf("--averaging: %q is not a length of time greater than 0, such as 15m or 8h, nor session", r.averaging)
		}
		h.AveragingPeriod = durationpb.New(d)
	}
	gaps, err := parseEnum("UNSAMPLED_TIME_", r.gaps, tailboundv1.UnsampledTime_value)
	if err != nil {
		return fmt.Errorf("--gaps: %w", err)
	}
	outside, err := parseEnum("UNSAMPLED_TIME_", r.outside, tailboundv1.UnsampledTime_value)
	if err != nil {
		return fmt.Errorf("--outside: %w", err)
	}
	if r.base < 0 {
		return errors.New("--base: is negative")
	}
	if r.base > 0 {
		h.Base = &tailboundv1.TraceBase{
			Length: durationpb.New(r.base), Gaps: tailboundv1.UnsampledTime(gaps), Outside: tailboundv1.UnsampledTime(outside),
		}
	}
	return nil
}

// length leaves out what was not stated.
func length(d time.Duration) *durationpb.Duration {
	if d == 0 {
		return nil
	}
	return durationpb.New(d)
}
