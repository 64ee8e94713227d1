package trace

import "slices"

// slot gathers the values of one time.
type slot struct {
	at   int64
	open bool
	sums []float64
	n    []float64
	over []bool
}

func newSlot(channels int) slot {
	return slot{sums: make([]float64, channels), n: make([]float64, channels), over: make([]bool, channels)}
}

func (s *slot) start(at int64) {
	s.at, s.open = at, true
	clear(s.sums)
	clear(s.n)
	clear(s.over)
}

// add says whether the channel had a value at this time already.
func (s *slot) add(channel int, v float64, over bool) bool {
	s.sums[channel] += v
	s.n[channel]++
	s.over[channel] = s.over[channel] || over
	return s.n[channel] > 1
}

// value returns the mean of the channel's values at this time, whether one of them was over the range, and whether there is any.
func (s *slot) value(channel int) (mean float64, over, there bool) {
	n := s.n[channel]
	return s.sums[channel] / n, s.over[channel], n > 0
}

// head keeps the first rows until they show the logging interval.
type head struct {
	times     []int64
	values    []float64
	intervals []int64
}

const (
	// headIntervals is how many intervals are enough, headRows how many rows are kept for them at most.
	headIntervals = 512
	headRows      = 4096
)

// add keeps a row and says whether that is enough.
func (h *head) add(at int64, values []float64) bool {
	if n := len(h.times); n > 0 && at > h.times[n-1] {
		h.intervals = append(h.intervals, at-h.times[n-1])
	}
	h.times = append(h.times, at)
	h.values = append(h.values, values...)
	return len(h.intervals) == headIntervals || len(h.times) == headRows
}

// interval returns the median, the lower one of two.
func (h *head) interval() (int64, bool) {
	if len(h.intervals) == 0 {
		return 0, false
	}
	slices.Sort(h.intervals)
	return h.intervals[(len(h.intervals)-1)/2], true
}
