package main

import (
	"math"
	"time"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/trace"
)

// stateRanges tells a log which columns are asked for, and what the header says of their ranges.
func stateRanges(log *trace.Log, h *tailboundv1.TraceHeader, picked []int) {
	log.Use(picked...)
	for i, c := range h.GetChannels() {
		limit, scale := c.GetDetectionLimit(), math.Inf(1)
		if c.FullScale != nil {
			scale = c.GetFullScale()
		}
		if c.GetCalibration().GetCorrect() {
			limit = math.NaN()
		}
		log.Range(picked[i], limit, scale)
	}
}

// inOrder finds the first row whose time is before that of an earlier one, while its place in the file is known.
type inOrder struct {
	log *trace.Log
	// free says that the service is told what to do with such rows.
	free   bool
	latest time.Time
	// line is that of the latest, row the number of the present one, counted from 0 as the service does.
	line, row int
}

func (o *inOrder) check(at time.Time) error {
	if !o.free && at.Before(o.latest) {
		const form = "2006-01-02T15:04:05.999999999Z07:00"
		return o.log.Place().Fault("", "goes back to %s from %s on line %d; accepted are rows in the order of time: say by --clock-jump how far the clock was set "+
			"at this row, which is number %d counted from 0, or have such rows skipped by --skip-backwards",
			at.UTC().Format(form), o.latest.UTC().Format(form), o.line, o.row)
	}
	o.latest, o.line = at, o.log.Place().Line
	o.row++
	return nil
}
