package trace

import (
	"math"
	"time"
)

// Spread is what a description of the distribution of the logged values of one period takes, on the scale of their natural logs. Each value weighs
// as many logging intervals as it stands for. It is enough for a censored lognormal, and takes no more memory for more values.
type Spread struct {
	// Exact is the weight of the values that are known, with the mean and the sum of squared deviations of their logs and the
	// smallest and the largest log.
	Exact, Mean, Squares float64
	Minimum, Maximum     float64
	// Below is the weight of the values under the detection limit. The limit is one of the true concentration, so that it holds
	// for corrected values as it stands.
	Below float64
	// Over is the weight of the values over the range, and OverFrom the log of the smallest of them. Each is known to lie over its
	// own value, which the drift that is taken out moves; the smallest is true of all of them.
	Over, OverFrom float64
	// Without is the weight of the values that have no logarithm: 0 and less, in a channel without a detection limit.
	Without float64
	// Above is the time during which the channel's level was exceeded for certain, Perhaps the time during which it may have been.
	Above, Perhaps time.Duration
}

// describe counts a value in. Weights are in nanoseconds until it is finished.
func (p *Spread) describe(s *sample, c *Channel) {
	weight := float64(s.end - s.start)
	log := math.Log(s.value)
	switch {
	case s.below:
		p.Below += weight
	case !(s.value > 0) || math.IsInf(log, 1):
		p.Without += weight
	case s.over:
		if p.Over == 0 || log < p.OverFrom {
			p.OverFrom = log
		}
		p.Over += weight
	default:
		p.enter(log, weight)
	}
	if c.Level > 0 {
		p.compare(s, c)
	}
}

// enter takes one more known value (the weighted update of West 1979, from memory).
func (p *Spread) enter(log, weight float64) {
	if p.Exact == 0 {
		p.Minimum, p.Maximum = log, log
	}
	p.Minimum, p.Maximum = min(p.Minimum, log), max(p.Maximum, log)
	p.Exact += weight
	d := log - p.Mean
	p.Mean += d * weight / p.Exact
	p.Squares += weight * d * (log - p.Mean)
}

// compare counts the time over the level. A value under the detection limit may be anything up to it, one over the range anything
// from there.
func (p *Spread) compare(s *sample, c *Channel) {
	length := time.Duration(s.end - s.start)
	switch {
	case s.below:
		if c.DetectionLimit > c.Level {
			p.Perhaps += length
		}
	case s.value > c.Level:
		p.Above += length
	case s.over:
		p.Perhaps += length
	}
}

// finish puts the weights into logging intervals.
func (p *Spread) finish(interval int64) *Spread {
	out := *p
	for _, w := range []*float64{&out.Exact, &out.Squares, &out.Below, &out.Over, &out.Without} {
		*w /= float64(interval)
	}
	return &out
}
