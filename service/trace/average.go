package trace

import (
	"math"
	"time"
)

// Average is what became of one channel over one averaging period.
type Average struct {
	// Session counts the sessions of the trace from 0, Channel its channels.
	Session, Channel int
	// Task is the name of the task, empty for a period.
	Task string
	// Start and Length are those of the period. The last period of a session keeps its full length.
	Start  time.Time
	Length time.Duration
	// Bounds of the time-weighted average over Observed; NaN when nothing was.
	Bounds
	// Observed is the time for which there is a value, Coverage its fraction of Length.
	Observed time.Duration
	Coverage float64
	// Usable says that Coverage is enough.
	Usable bool
	// Values is how many logged times have a value; Below and Over how many of those were under the detection limit and over
	// the range. Negative is how many were under 0 by more than the detection limit, which no noise is; they were taken as 0, or as
	// under that limit.
	Values, Below, Over, Negative int
	// Gaps is how many stretches without a value there are; LongestGap is the longest.
	Gaps       int
	LongestGap time.Duration
	// Largest is the largest rolling 15-minute mean inside the period and LargestStart where its 15 minutes begin.
	Largest      Rolling
	LargestStart time.Time
	// Peak is the largest logged value, NaN when there is none, and PeakAt its first time.
	Peak   float64
	PeakAt time.Time
	// Autocorrelation is that of each value with the next; Effective is how many independent values they are worth for the
	// mean. Both NaN when not determined.
	Autocorrelation, Effective float64
	// Correlations are those with the values 1, 2, 3, ... after it, empty when not determined. Lasting says that even the last of
	// them is more than chance, so that Effective is too large.
	Correlations []float64
	Lasting      bool
	// Spread is nil unless it was asked for, and when nothing was observed.
	Spread *Spread
}

// accumulator sums one channel over one period.
type accumulator struct {
	channel Channel
	begin   int64
	// lower is the sum of the values times their time, those below the detection limit as 0.
	lower           sum
	below, observed int64
	counts          struct{ values, below, over, negative, gaps int }
	covered         int64
	longest         int64
	peak            float64
	peakAt          int64
	serial          serial
	rolling         rolling
	// described says that the spread is asked for.
	described bool
	spread    Spread
}

func (a *accumulator) reset(begin int64) {
	window := a.rolling
	window.limit = a.channel.DetectionLimit
	window.reset(begin)
	*a = accumulator{channel: a.channel, begin: begin, covered: begin, peak: math.NaN(), rolling: window, described: a.described}
}

// sample is one value with the time for which it stands.
type sample struct {
	start, end  int64
	value       float64
	below, over bool
	// carried is a value that was logged in the period before.
	carried bool
}

// add takes the next value; what has been seen of the last one never overlaps it.
func (a *accumulator) add(s sample) {
	a.gap(s.start)
	a.covered = s.end
	a.observed += s.end - s.start
	lower := max(s.value, 0)
	if s.below {
		lower = 0
		a.below += s.end - s.start
	}
	a.lower.add(lower * float64(s.end-s.start))
	a.rolling.add(s.start, s.end, lower, s.below, s.over)
	if s.over {
		a.counts.over++
	}
	if !(s.value <= a.peak) {
		a.peak, a.peakAt = s.value, s.start
	}
	if a.described {
		a.spread.describe(&s, &a.channel)
	}
	if s.carried {
		return
	}
	a.counts.values++
	if s.below {
		a.counts.below++
	}
	if s.value < -a.channel.DetectionLimit {
		a.counts.negative++
	}
	a.serial.add(s.start, s.end, s.value)
}

func (a *accumulator) gap(until int64) {
	if until > a.covered {
		a.counts.gaps++
		a.longest = max(a.longest, until-a.covered)
	}
}

// bounds of the average so far.
func (a *accumulator) bounds() Bounds {
	if a.observed == 0 {
		return Exactly(math.NaN())
	}
	b := Exactly(a.lower.total() / float64(a.observed))
	if a.below > 0 {
		b.Upper = (a.lower.total() + a.channel.DetectionLimit*float64(a.below)) / float64(a.observed)
	}
	if a.counts.over > 0 {
		b.Upper = math.Inf(1)
	}
	return b
}

// finish closes the period.
func (a *accumulator) finish(end int64, least float64) Average {
	a.gap(end)
	a.rolling.slide(end)
	length := end - a.begin
	out := Average{
		Start: moment(a.begin), Length: time.Duration(length), Bounds: a.bounds(), Observed: time.Duration(a.observed),
		Coverage: float64(a.observed) / float64(length),
		Values:   a.counts.values, Below: a.counts.below, Over: a.counts.over, Negative: a.counts.negative,
		Gaps: a.counts.gaps, LongestGap: time.Duration(a.longest),
		Largest: a.rolling.best, Peak: a.peak, Autocorrelation: math.NaN(), Correlations: a.serial.correlations(),
	}
	out.Effective, out.Lasting = effective(a.serial.n, out.Correlations), lasting(a.serial.n, out.Correlations)
	if len(out.Correlations) > 0 {
		out.Autocorrelation = out.Correlations[0]
	}
	out.Usable = a.observed > 0 && out.Coverage >= least
	if out.Largest.Found {
		out.LargestStart = moment(out.Largest.start)
	}
	if !math.IsNaN(a.peak) {
		out.PeakAt = moment(a.peakAt)
	}
	return out
}

func moment(nanoseconds int64) time.Time { return time.Unix(0, nanoseconds).UTC() }
