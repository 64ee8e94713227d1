package trace

import (
	"math"
	"strconv"
	"time"

	"example.com/tailbound/service/fault"
)

// Times are counted in nanoseconds, which reach from 1678 to 2262.
const (
	firstYear = 1700
	lastYear  = 2200
)

// largest is the largest value that is taken, so that no sum of values times their time overflows.
const largest = 1e100

// Report says what was found in the trace as a whole.
type Report struct {
	// Rows is how many there were; Channels says more of each.
	Rows     int64
	Channels []Counts
	// Interval is the logging interval, stated or found.
	Interval time.Duration
	// Sessions is how many there were.
	Sessions int
	// WarmUp is how many rows were left out while the sensors settled.
	WarmUp int64
	// Backwards is how many rows were dropped because their time was before that of a row before them, and FirstBackwards
	// the first of them, counted from 0.
	Backwards, FirstBackwards int64
	// Missed are the tasks during which nothing was logged.
	Missed []string
}

// Counts says what was found in one channel.
type Counts struct {
	// Blank is how many rows have no value; Duplicates how many have one for a time that had one already.
	Blank, Duplicates int64
}

// Result is what became of a trace.
type Result struct {
	// Averages are in the order of session, period and channel, those of tasks in the order in which the tasks were stated. A
	// period or a task in which nothing was logged has none.
	Averages []Average
	Report   Report
}

// Reducer averages a trace that it is fed row by row. Its memory does not grow with the length of the trace, but for the
// averages. It is for one goroutine.
type Reducer struct {
	options Options
	report  Report
	out     []Average
	head    head
	jump    int
	ahead   time.Duration
	// interval is 0 until it is known.
	interval int64
	channels []accumulator
	tasks    tasks
	slot     slot
	// begin is where the session's first period begins; now is where the present one does, and inside whether one is open.
	begin, now int64
	inside     bool
	// logged says that a row was logged in the present period.
	logged bool
	failed error
}

// NewReducer returns a reducer. The error is a fault that names the option at fault, by its path in the contract's header.
func NewReducer(o Options) (*Reducer, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	n := len(o.Channels)
	r := &Reducer{options: o, slot: newSlot(n), tasks: newTasks(o.Tasks)}
	r.report = Report{Channels: make([]Counts, n)}
	r.channels = r.accumulators()
	if o.Interval > 0 {
		return r, r.settle(int64(o.Interval))
	}
	return r, nil
}

// accumulators are one for each channel.
func (r *Reducer) accumulators() []accumulator {
	out := make([]accumulator, len(r.options.Channels))
	for i := range out {
		out[i].channel, out[i].described = r.options.Channels[i], r.options.WithinPeriod
	}
	return out
}

// Add takes the next row: its time, and one value a channel of which NaN stands for no reading. It does not keep values. The
// error is a fault about the values that names the row, counted from 0, or about an option that does not fit the logging
// interval; the trace is then lost, and later calls return the same error.
func (r *Reducer) Add(at time.Time, values []float64) error {
	if r.failed == nil {
		r.failed = r.add(at, values)
	}
	return r.failed
}

func (r *Reducer) add(at time.Time, values []float64) error {
	row := r.report.Rows
	r.report.Rows++
	if len(values) != len(r.channels) {
		return fault.Invalid("values.values", "row %d has %d values; accepted is one for each of the %d channels", row, len(values), len(r.channels))
	}
	for i, v := range values {
		if math.Abs(v) > largest {
			return fault.Invalid("values.values", "row %d, channel %d is %v; accepted is a number up to %g in size, or NaN for no reading", row, i, v, largest)
		}
	}
	for r.jump < len(r.options.ClockJumps) && r.options.ClockJumps[r.jump].Row == row {
		r.ahead += r.options.ClockJumps[r.jump].Ahead
		r.jump++
	}
	at = at.Add(-r.ahead)
	if year := at.Year(); year < firstYear || year > lastYear {
		return fault.Invalid("values.times", "row %d is not between the years %d and %d", row, firstYear, lastYear)
	}
	if r.interval > 0 {
		return r.take(row, at.UnixNano(), values)
	}
	if r.head.add(at.UnixNano(), values) {
		return r.settleFromHead()
	}
	return nil
}

// settleFromHead finds the logging interval in the rows kept for it, and goes through them.
func (r *Reducer) settleFromHead() error {
	interval, found := r.head.interval()
	if !found {
		return fault.Invalid("interval", "cannot be found in the trace, whose first %d rows have one time; accepted is to state it", len(r.head.times))
	}
	if err := r.settle(interval); err != nil {
		return err
	}
	kept := r.head
	r.head = head{}
	for i, at := range kept.times {
		n := len(r.channels)
		if err := r.take(int64(i), at, kept.values[i*n:(i+1)*n]); err != nil {
			return err
		}
	}
	return nil
}

func (r *Reducer) settle(interval int64) error {
	const longest = 100 * 365 * 24 * time.Hour
	period := int64(r.options.Period)
	if interval > int64(longest) {
		return fault.Invalid("interval", "is %s; accepted is at most a century", Length(time.Duration(interval)))
	}
	if period > 0 && period < interval {
		return fault.Invalid("averagingPeriod", "is %s, shorter than the logging interval %s", Length(r.options.Period), Length(time.Duration(interval)))
	}
	for i, t := range r.options.Tasks {
		if int64(t.Length) < interval {
			return fault.Invalid("tasks["+strconv.Itoa(i)+"].length", "is %s, shorter than the logging interval %s", Length(t.Length), Length(time.Duration(interval)))
		}
	}
	if gap := r.options.SessionGap; gap > 0 && float64(gap) < reach*float64(interval) {
		return fault.Invalid("sessionGap", "is %s; accepted is at least %v logging intervals of %s", Length(gap), reach, Length(time.Duration(interval)))
	}
	r.interval, r.report.Interval = interval, time.Duration(interval)
	return nil
}

// take is given the rows in their order, with the interval known.
func (r *Reducer) take(row, at int64, values []float64) error {
	if r.slot.open && at < r.slot.at {
		return r.backwards(row, at)
	}
	if !r.slot.open || at > r.slot.at {
		if err := r.advance(at); err != nil {
			return err
		}
	}
	if at < r.begin {
		r.report.WarmUp++
	}
	for i, v := range values {
		if math.IsNaN(v) {
			r.report.Channels[i].Blank++
			continue
		}
		if r.slot.add(i, v, v >= r.options.Channels[i].FullScale) {
			r.report.Channels[i].Duplicates++
		}
	}
	return nil
}

func (r *Reducer) backwards(row, at int64) error {
	if !r.options.SkipBackwards {
		return fault.Invalid("values.times", "row %d goes back from %s to %s; accepted are rows in the order of time: say where the clock was set "+
			"and by how much, or have such rows skipped", row, clock(moment(r.slot.at)), clock(moment(at)))
	}
	if r.report.Backwards == 0 {
		r.report.FirstBackwards = row
	}
	r.report.Backwards++
	return nil
}

// advance closes the present time and opens the next one.
func (r *Reducer) advance(at int64) error {
	if r.slot.open {
		if err := r.closeSlot(at); err != nil {
			return err
		}
		if gap := int64(r.options.SessionGap); gap > 0 && at-r.slot.at > gap {
			if err := r.endSession(); err != nil {
				return err
			}
		}
	}
	if !r.slot.open {
		r.report.Sessions++
		r.begin = at + int64(r.options.WarmUp)
	}
	r.slot.start(at)
	return nil
}

// closeSlot gives each channel's value to its period. It stands until the next time if that comes soon enough, and otherwise
// for one interval; what follows is a gap.
func (r *Reducer) closeSlot(next int64) error {
	start, end := r.slot.at, next
	if start < r.begin {
		return nil
	}
	if float64(end-start) > reach*float64(r.interval) {
		end = start + r.interval
	}
	r.watch(start, end)
	if len(r.options.Tasks) > 0 {
		r.giveTasks(start, end)
		return nil
	}
	if err := r.enter(start); err != nil {
		return err
	}
	r.logged = true
	carried := false
	for p := int64(r.options.Period); p > 0 && end > r.now+p; carried = true {
		edge := r.now + p
		r.give(r.channels, start, edge, carried)
		if err := r.enter(edge); err != nil {
			return err
		}
		start = edge
	}
	r.give(r.channels, start, end, carried)
	return nil
}

// give adds the values of the present time to accumulators, for the time from start to end.
func (r *Reducer) give(to []accumulator, start, end int64, carried bool) {
	for i := range to {
		value, over, there := r.slot.value(i)
		if !there {
			continue
		}
		a := &to[i]
		if c := a.channel.Calibration; c != nil && c.Correct {
			value = c.correct(r.slot.at, value)
		}
		limit := a.channel.DetectionLimit
		a.add(sample{start: start, end: end, value: value, below: !over && limit > 0 && value < limit, over: over, carried: carried})
	}
}

// enter makes the present period the one of a time.
func (r *Reducer) enter(at int64) error {
	now := r.begin
	if p := int64(r.options.Period); p > 0 {
		now = at - modulo(modulo(at, p)-r.phase(p), p)
	}
	if r.inside && now == r.now {
		return nil
	}
	if r.inside {
		if err := r.endPeriod(r.now + int64(r.options.Period)); err != nil {
			return err
		}
	}
	r.now, r.inside, r.logged = now, true, false
	for i := range r.channels {
		r.channels[i].reset(now)
	}
	return nil
}

// phase is where in a period of the count of nanoseconds a period begins, from 0 to below p. A difference of times could leave the
// range of that count.
func (r *Reducer) phase(p int64) int64 {
	if origin := r.options.PeriodOrigin; !origin.IsZero() {
		return modulo(origin.UnixNano(), p)
	}
	return modulo(r.begin, p)
}

// modulo is the remainder of a whole division that rounds down.
func modulo(n, by int64) int64 {
	if m := n % by; m < 0 {
		return m + by
	}
	return n % by
}

// endPeriod adds the averages of the present period, unless all that it has was carried over from the one before.
func (r *Reducer) endPeriod(end int64) error {
	r.inside = false
	if !r.logged {
		return nil
	}
	if most := r.options.MaxAverages; most > 0 && len(r.out)+len(r.channels) > most {
		return &fault.Error{Code: fault.TooLarge, Violations: []fault.Violation{{
			Field: "averagingPeriod", Text: "is " + Length(r.options.Period) + ", which makes too many averages of this trace; accepted is a longer one",
		}}}
	}
	for i := range r.channels {
		r.out = append(r.out, r.finished(&r.channels[i], end, r.report.Sessions-1, i))
	}
	return nil
}

// finished is the average of a channel over a period or a task that has ended.
func (r *Reducer) finished(a *accumulator, end int64, session, channel int) Average {
	out := a.finish(end, r.options.Coverage)
	out.Session, out.Channel = session, channel
	if a.described && a.observed > 0 {
		out.Spread = a.spread.finish(r.interval)
	}
	return out
}

// endSession closes the last period. Without a period of a given length the session ends where its last row does.
func (r *Reducer) endSession() error {
	end := r.slot.at + r.interval
	r.slot.open = false
	if !r.inside {
		return nil
	}
	if p := int64(r.options.Period); p > 0 {
		end = r.now + p
	}
	return r.endPeriod(end)
}

// Finish ends the trace. The error is that of Add, or a fault about a trace too short to be averaged.
func (r *Reducer) Finish() (*Result, error) {
	if r.failed == nil {
		r.failed = r.finish()
	}
	if r.failed != nil {
		return nil, r.failed
	}
	r.failed = fault.Invalid("", "the trace has ended")
	return &Result{Averages: r.out, Report: r.report}, nil
}

func (r *Reducer) finish() error {
	if r.report.Rows == 0 {
		return fault.Invalid("values", "has no rows; at least 1 is required")
	}
	if r.interval == 0 {
		if err := r.settleFromHead(); err != nil {
			return err
		}
	}
	if err := r.closeSlot(r.slot.at + r.interval); err != nil {
		return err
	}
	if err := r.endSession(); err != nil {
		return err
	}
	r.endTasks()
	if len(r.out) == 0 && len(r.options.Tasks) > 0 {
		return fault.Unsettled("nothing was logged during any of the tasks; the last row is of %s", clock(moment(r.slot.at)))
	}
	if len(r.out) == 0 {
		return fault.Unsettled("the trace ends within the %s of the warm-up; nothing is left to average", Length(r.options.WarmUp))
	}
	return nil
}

func clock(t time.Time) string { return t.Format("2006-01-02T15:04:05.999999999Z07:00") }
