package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/trace"
)

// header makes the header of the flags and the columns; picked are the places of the channels among the columns.
func (r *reduce) header(log *trace.Log) (h *tailboundv1.TraceHeader, picked []int, err error) {
	h = &tailboundv1.TraceHeader{
		Zone: r.zone, Subject: r.subject, Campaign: r.campaign, WarmUp: length(r.warmUp), Interval: length(r.interval),
		SessionGap: length(r.sessionGap), Coverage: &r.coverage, SkipBackwards: r.skipBackwards,
		Temperature: &r.temperature, Pressure: &r.pressure,
	}
	columns := log.Columns()
	if picked, err = r.pick(columns); err != nil {
		return nil, nil, usageError{err}
	}
	channels := make([]*tailboundv1.TraceChannel, len(columns))
	for i, c := range columns {
		channels[i] = &tailboundv1.TraceChannel{Agent: c.Name, Unit: c.Unit}
	}
	read := timesIn(r.fileFlags.format.TimeZone)
	for _, parse := range []func() error{
		func() error { return r.checkUnits(columns, picked) },
		func() error { return r.channelFlags.describe(columns, channels, read) },
		func() error { return r.clock(h) },
		func() error { return r.lengths(h) },
		func() error { return r.periodFlags.describe(h, read) },
	} {
		if err := parse(); err != nil {
			return nil, nil, usageError{err}
		}
	}
	if strings.EqualFold(r.origin, midnight) {
		begin, err := midnightOf(log, r.fileFlags.format.TimeZone)
		if err != nil {
			return nil, nil, usageError{err}
		}
		h.PeriodOrigin = timestamppb.New(begin)
	}
	for _, i := range picked {
		if channels[i].GetUnit() == "" {
			return nil, nil, usageError{fmt.Errorf("--unit: the unit of column %q is not stated, and stands in brackets in no header", columns[i].Name)}
		}
		if stated := columns[i].Unit; stated != "" && !sameUnit(stated, channels[i].GetUnit()) {
			r.notef("note: column %q is taken in %s, as --unit says, and not in %s, as its header does", columns[i].Name, channels[i].GetUnit(), stated)
		}
		h.Channels = append(h.Channels, channels[i])
	}
	return h, picked, nil
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
	if !slices.Contains([]string{"session", "shift"}, r.averaging) {
		d, err := time.ParseDuration(r.averaging)
		if err != nil || d <= 0 {
			return fmt.Errorf("--averaging: %q is not a length of time greater than 0, such as 15m or 8h, nor session or shift", r.averaging)
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
