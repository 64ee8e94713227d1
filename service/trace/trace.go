// Package trace turns a data logger's trace into averages: it weights by time, counts what is missing, and carries what the
// sensor could not see, below its detection limit or over its range, into the bounds of each average.
//
// It is the first stage and knows nothing of readings: an Average has a lower and an upper bound, which package rpc turns into a
// reading that is exact, below, above or between. The rules are those of testdata/reference/autocorrelated_traces/RULES.md.
package trace

import (
	"math"
	"strconv"
	"time"

	"example.com/tailbound/service/fault"
)

const (
	// DefaultCoverage is the least covered fraction of a period that makes its average usable (common practice; Directive
	// 2008/50/EC Annex VII asks it of the ozone means of 1 h and 8 h).
	DefaultCoverage = 0.75
	// ShortTerm is the length of the rolling mean.
	ShortTerm = 15 * time.Minute
	// shortTermCoverage is the least covered fraction of a rolling mean: 12 of 15 minutes (RULES.md 9).
	shortTermCoverage = 0.8
	// reach is how many logging intervals a value stands for at most when the next one is late.
	reach = 1.5
	// mostChannels bounds memory; each channel holds up to 1.5 MB of the latest 15 minutes.
	mostChannels = 64
)

// Channel is one sensor of the instrument.
type Channel struct {
	// DetectionLimit: a value under it is only known to lie between 0 and it. 0 when the sensor has none.
	DetectionLimit float64
	// FullScale: a value at or over it is only known to be at least what was logged. +Inf when the range has no known top.
	FullScale float64
	// Calibration corrects for drift; nil leaves the values as they are.
	Calibration *Calibration
	// Level is one that the time over it is counted for; 0 when there is none.
	Level float64
}

// ClockJump says that the instrument's clock was set while it logged.
type ClockJump struct {
	// Row is the first row stamped by the new setting, counted from 0.
	Row int64
	// Ahead is how far the clock was set forward; negative when it was set back. It is taken off every later time.
	Ahead time.Duration
}

// Options says how to average.
type Options struct {
	Channels []Channel
	// Period is the averaging period, counted from the end of the warm-up; 0 stands for the whole session.
	Period time.Duration
	// PeriodOrigin is where a period begins, and every other one whole periods from there; the zero time counts them from the end
	// of the warm-up.
	PeriodOrigin time.Time
	// Tasks are averaged in place of periods. They may overlap.
	Tasks []Task
	// WithinPeriod asks for the distribution of the values within each period or task.
	WithinPeriod bool
	// WarmUp is left out after the first row of each session while the sensors settle.
	WarmUp time.Duration
	// Interval is the logging interval; 0 takes the median of the first intervals of the trace.
	Interval time.Duration
	// SessionGap: rows further apart than this belong to two sessions; 0 makes one session of it all.
	SessionGap time.Duration
	// Coverage is the least covered fraction of a period that makes its average usable, from 0 to 1.
	Coverage float64
	// ClockJumps are in the order of their rows.
	ClockJumps []ClockJump
	// SkipBackwards drops and counts rows that are older than one before them; otherwise such a row is refused.
	SkipBackwards bool
	// MaxAverages bounds the answer; 0 or less means no limit.
	MaxAverages int
	// Watch, unless nil, is shown every value of every channel that is averaged, in the order of time.
	Watch func(Seen)
}

// check returns a fault about the first option that is wrong, by the names of the contract.
func (o *Options) check() error {
	if n := len(o.Channels); n == 0 || n > mostChannels {
		return fault.Invalid("channels", "has %d entries; accepted are 1 to %d", n, mostChannels)
	}
	for i, c := range o.Channels {
		if err := c.check(o.WithinPeriod); err != nil {
			return fault.Under("channels["+strconv.Itoa(i)+"]", err)
		}
	}
	for _, d := range [...]struct {
		field string
		value time.Duration
	}{
		{"averagingPeriod", o.Period}, {"warmUp", o.WarmUp}, {"interval", o.Interval}, {"sessionGap", o.SessionGap},
	} {
		if d.value < 0 {
			return fault.Invalid(d.field, "is %s; accepted is a length of time that is not negative", Length(d.value))
		}
	}
	if !(o.Coverage >= 0 && o.Coverage <= 1) {
		return fault.Invalid("coverage", "is %v; accepted is a fraction from 0 to 1", o.Coverage)
	}
	before := int64(-1)
	for i, jump := range o.ClockJumps {
		if jump.Row <= before {
			return fault.Invalid("clockJumps["+strconv.Itoa(i)+"].row", "is %d; accepted are rows from 0 on, each after the one before", jump.Row)
		}
		before = jump.Row
	}
	return o.checkPeriods()
}

func (c *Channel) check(described bool) error {
	if !(c.DetectionLimit >= 0) || math.IsInf(c.DetectionLimit, 1) {
		return fault.Invalid("detectionLimit", "is %v; accepted is a finite number that is not negative", c.DetectionLimit)
	}
	if !(c.FullScale > c.DetectionLimit) {
		return fault.Invalid("fullScale", "is %v, not above the detection limit %v", c.FullScale, c.DetectionLimit)
	}
	if !(c.Level >= 0) || math.IsInf(c.Level, 1) {
		return fault.Invalid("level", "is %v; accepted is a finite number greater than 0", c.Level)
	}
	if c.Level > 0 && !described {
		return fault.Invalid("level", "is stated without withinPeriod, which it is a part of")
	}
	return c.Calibration.check()
}
