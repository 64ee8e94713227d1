package trace

import "math"

// finest is how finely a rolling mean is placed when a logger is faster than that: 16,384 places in 15 minutes bound memory.
const finest = int64(ShortTerm) / 16384

// totals are sums from some beginning up to a moment, in nanoseconds and in the channel's unit times nanoseconds.
type totals struct{ lower, below, over, observed float64 }

// stretch is a run of time with what was summed up to its start and up to its end.
type stretch struct {
	start, end int64
	from, to   totals
}

// at returns the totals at a moment in or after the stretch, if nothing follows before it.
func (s *stretch) at(t int64) totals {
	if t >= s.end {
		return s.to
	}
	f := float64(t-s.start) / float64(s.end-s.start)
	return totals{
		lower:    s.from.lower + f*(s.to.lower-s.from.lower),
		below:    s.from.below + f*(s.to.below-s.from.below),
		over:     s.from.over + f*(s.to.over-s.from.over),
		observed: s.from.observed + f*(s.to.observed-s.from.observed),
	}
}

// Rolling is the largest 15-minute mean.
type Rolling struct {
	// Bounds: the largest of the lower bounds of the means, and the largest of the upper ones.
	Bounds
	// start is where the window with the largest lower bound begins.
	start int64
	// Found is false when no 15 minutes were covered well enough.
	Found bool
}

// rolling finds the largest mean over all windows that begin or end where a logged value does: between such places a mean
// moves one way only, so that none is larger in between.
type rolling struct {
	limit float64
	best  Rolling
	// stretches are those of the latest window; the ones before head are done with.
	stretches []stretch
	head      int
	// next is the stretch whose start (or end, if ending) is the next beginning of a window; front is where that window ends.
	next, front int
	ending      bool
	// back is the stretch at the beginning of the window that ends now.
	back int
}

// reset starts anew at the beginning of a period.
func (r *rolling) reset(begin int64) {
	first := stretch{start: begin, end: begin}
	*r = rolling{limit: r.limit, stretches: append(r.stretches[:0], first)}
}

// add takes a value that stood from start to end.
func (r *rolling) add(start, end int64, lower float64, below, over bool) {
	r.trim()
	last := &r.stretches[len(r.stretches)-1]
	if start > last.end {
		r.slide(start)
	}
	d := float64(end - start)
	to := last.to
	to.observed += d
	to.lower += lower * d
	if below {
		to.below += d
	}
	if over {
		to.over += d
	}
	if end-last.start <= finest && len(r.stretches) > 1 {
		last.end, last.to = end, to
		return
	}
	r.stretches = append(r.stretches, stretch{start: start, end: end, from: last.to, to: to})
	r.slide(end)
}

// slide looks at the windows that have become complete by now.
func (r *rolling) slide(now int64) {
	for r.next < len(r.stretches) {
		s := &r.stretches[r.next]
		start, from := s.start, s.from
		if r.ending {
			start, from = s.end, s.to
		}
		if start+int64(ShortTerm) > now {
			break
		}
		r.front = max(r.front, r.next)
		r.look(start, from, r.seek(&r.front, start+int64(ShortTerm)))
		if r.ending {
			r.next++
		}
		r.ending = !r.ending
	}
	if start := now - int64(ShortTerm); start >= r.stretches[r.head].start {
		last := &r.stretches[len(r.stretches)-1]
		r.look(start, r.seek(&r.back, start), last.at(now))
	}
}

// seek moves an index to the last stretch that has begun by t, and returns the totals at t.
func (r *rolling) seek(index *int, t int64) totals {
	for *index+1 < len(r.stretches) && r.stretches[*index+1].start <= t {
		*index++
	}
	return r.stretches[*index].at(t)
}

// look compares one window with the best so far. Means that differ by rounding alone are the same; the earlier one stays.
func (r *rolling) look(start int64, from, to totals) {
	const same = 1e-12
	observed := to.observed - from.observed
	if observed < shortTermCoverage*float64(ShortTerm)*(1-same) {
		return
	}
	lower := max(to.lower-from.lower, 0) / observed
	upper := lower + r.limit*(to.below-from.below)/observed
	if to.over-from.over > same*float64(ShortTerm) {
		upper = math.Inf(1)
	}
	b := &r.best
	b.Upper = max(b.Upper, upper)
	slack := same * b.Lower
	if !b.Found || lower > b.Lower+slack || lower >= b.Lower-slack && start < b.start {
		b.Lower, b.start, b.Found = lower, start, true
	}
}

// trim forgets stretches that no window needs any more, and starts the sums anew before their digits run out.
func (r *rolling) trim() {
	const few = 64
	r.head = min(r.next, r.back)
	if r.head < few || 2*r.head < len(r.stretches) {
		return
	}
	r.stretches = r.stretches[:copy(r.stretches, r.stretches[r.head:])]
	r.next, r.front, r.back, r.head = r.next-r.head, max(r.front-r.head, 0), r.back-r.head, 0
	base := r.stretches[0].from
	for i := range r.stretches {
		r.stretches[i].from.less(base)
		r.stretches[i].to.less(base)
	}
}

func (t *totals) less(base totals) {
	t.lower -= base.lower
	t.below -= base.below
	t.over -= base.over
	t.observed -= base.observed
}
