package trace

import (
	"math"
	"time"
)

// Seen is a value with the time for which it stood, as the averages count it: by the corrected clock, after the warm-up, and
// without drift where that is taken out.
type Seen struct {
	Channel    int
	Start, End time.Time
	Value      float64
}

// watch shows each value to whoever asked to see it.
func (r *Reducer) watch(start, end int64) {
	if r.options.Watch == nil {
		return
	}
	for i, c := range r.options.Channels {
		value, _, there := r.slot.value(i)
		if !there {
			continue
		}
		if c.Calibration != nil && c.Calibration.Correct {
			value = c.Calibration.correct(r.slot.at, value)
		}
		r.options.Watch(Seen{Channel: i, Start: moment(start), End: moment(end), Value: value})
	}
}

// mostStrips is how many strips a trace is kept in at most: as many as a figure can show.
const mostStrips = 480

// Strips keeps one channel in equal parts of its time. They grow wider as the trace goes on, so that what is kept does not
// grow. The zero value is ready.
type Strips struct {
	begun  bool
	origin time.Time
	// width is that of a strip, and covered the end of the last value, both in seconds, from origin on.
	width, covered float64
	strips         []strip
	gaps           [][2]float64
}

// strip sums what stood in one part of the time.
type strip struct{ lowest, highest, sum, observed float64 }

// Add takes the next value; its time is never before that of the last one.
func (c *Strips) Add(s Seen) {
	if !c.begun {
		c.begun, c.origin, c.width = true, s.Start, max(s.End.Sub(s.Start).Seconds(), 1e-3)
	}
	start, end := c.place(s.Start), c.place(s.End)
	if end <= start {
		return
	}
	for end > mostStrips*c.width {
		c.widen()
	}
	if start > c.covered*(1+1e-12) {
		c.gap(start)
	}
	c.covered = max(c.covered, end)
	for i := int(start / c.width); float64(i)*c.width < end && i < mostStrips; i++ {
		for len(c.strips) <= i {
			c.strips = append(c.strips, strip{lowest: math.Inf(1), highest: math.Inf(-1)})
		}
		within := min(end, float64(i+1)*c.width) - max(start, float64(i)*c.width)
		c.strips[i].add(strip{lowest: s.Value, highest: s.Value, sum: s.Value * within, observed: within})
	}
}

// place is a time in seconds from the origin on; a difference of time.Time could overflow.
func (c *Strips) place(t time.Time) float64 {
	return float64(t.Unix()-c.origin.Unix()) + float64(t.Nanosecond()-c.origin.Nanosecond())/1e9
}

func (c *strip) add(o strip) {
	if o.observed <= 0 {
		return
	}
	c.lowest, c.highest = min(c.lowest, o.lowest), max(c.highest, o.highest)
	c.sum += o.sum
	c.observed += o.observed
}

// widen makes one strip of each two.
func (c *Strips) widen() {
	half := c.strips[:0]
	for i := 0; i < len(c.strips); i += 2 {
		two := c.strips[i]
		if i+1 < len(c.strips) {
			two.add(c.strips[i+1])
		}
		half = append(half, two)
	}
	c.strips = half
	c.width *= 2
}

// gap notes a stretch without a value up to start. Those shorter than a strip are forgotten, as no figure shows them.
func (c *Strips) gap(start float64) {
	if start-c.covered < c.width {
		return
	}
	if len(c.gaps) >= 2*mostStrips {
		kept := c.gaps[:0]
		for _, g := range c.gaps {
			if g[1]-g[0] >= c.width {
				kept = append(kept, g)
			}
		}
		c.gaps = kept
	}
	c.gaps = append(c.gaps, [2]float64{c.covered, start})
}

// Strip is what was logged in one part of the time; NaN where there was nothing.
type Strip struct {
	Lowest, Highest float64
	// Rolling is the mean over the 15 minutes that end with the strip, NaN where they are not covered to 80 %.
	Rolling float64
}

// Picture is a channel in equal parts of its time.
type Picture struct {
	From, To time.Time
	Strips   []Strip
	// Gaps are the beginnings and ends of the stretches without a value that are at least as long as a strip.
	Gaps [][2]time.Time
}

// Picture returns what was kept. Without a value it has no strips.
func (c *Strips) Picture() Picture {
	at := func(seconds float64) time.Time {
		whole, part := math.Modf(seconds)
		return time.Unix(c.origin.Unix()+int64(whole), int64(c.origin.Nanosecond())+int64(part*1e9)).UTC()
	}
	n := len(c.strips)
	p := Picture{From: at(0), To: at(float64(n) * c.width), Strips: make([]Strip, n)}
	sums, observed := make([]float64, n+1), make([]float64, n+1)
	for i, k := range c.strips {
		sums[i+1], observed[i+1] = sums[i]+k.sum, observed[i]+k.observed
		p.Strips[i] = Strip{Lowest: math.NaN(), Highest: math.NaN(), Rolling: math.NaN()}
		if k.observed > 0 {
			p.Strips[i].Lowest, p.Strips[i].Highest = k.lowest, k.highest
			p.Strips[i].Rolling = rollingMean(sums, observed, i+1, c.width)
		}
	}
	for _, g := range c.gaps {
		if g[1]-g[0] >= c.width {
			p.Gaps = append(p.Gaps, [2]time.Time{at(g[0]), at(g[1])})
		}
	}
	return p
}

// rollingMean is the mean over the 15 minutes up to the end-th strip, of which the first may count in part. Strips of more than
// 5 minutes have none.
func rollingMean(sums, observed []float64, end int, width float64) float64 {
	const least = 3
	strips := ShortTerm.Seconds() / width
	if strips < least {
		return math.NaN()
	}
	start := float64(end) - strips
	upTo := func(totals []float64) float64 {
		if start <= 0 {
			return 0
		}
		whole := int(start)
		return totals[whole] + (start-float64(whole))*(totals[whole+1]-totals[whole])
	}
	seen := observed[end] - upTo(observed)
	if seen < shortTermCoverage*ShortTerm.Seconds()*(1-1e-9) {
		return math.NaN()
	}
	return (sums[end] - upTo(sums)) / seen
}
