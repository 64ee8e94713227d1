package check

import (
	"math"
	"slices"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// HintKind says what looks odd in a group.
type HintKind uint8

const (
	// HighReading: the largest reading lies further out than the others foretell.
	HighReading HintKind = iota
	// LowReading: so does the smallest.
	LowReading
	// TwoGroups: a gap divides the readings.
	TwoGroups
)

// Hint is something odd that the reader should look into. Nothing is ever removed from a fit because of it.
type Hint struct {
	Kind HintKind
	// Lower and Upper are the detected readings on either side of the gap, or both the odd reading.
	Lower, Upper float64
	// Probability is how often a lognormal group of this size shows something at least as odd, at most 0.01.
	Probability float64
}

const (
	// hintProbability is the largest probability that is told: a hint in each of a hundred sound groups would teach people to
	// pass over hints (our choice).
	hintProbability = 0.01
	// minGroup is the number of readings that must lie on either side of a gap: fewer are odd readings, not a group.
	minGroup = 3
)

// Hints looks for an odd reading at either end and for a gap that divides the group, whatever the kinds of the readings. It
// needs a likelihood with a maximum, and for an odd reading also without that reading; otherwise it finds nothing.
//
// By simulation for this project, lognormal groups of 5 to 300 readings of which 0 to 60 % are censored give a hint of one kind
// in at most 1.2 % (an odd reading) or 1.7 % (a gap) of the cases.
func Hints(readings []reading.Reading) []Hint {
	d := likelihood.NewData(readings, 1)
	m, err := likelihood.Maximize(d)
	if err != nil {
		return nil
	}
	values := make([]float64, 0, len(readings))
	for i := range readings {
		if readings[i].Kind == reading.Detected {
			values = append(values, readings[i].Lower)
		}
	}
	if len(values) < 2 {
		return nil
	}
	slices.Sort(values)
	logs := make([]float64, len(values))
	for i, v := range values {
		logs[i] = math.Log(v)
	}
	var out []Hint
	last := len(logs) - 1
	if d.NothingAbove(logs[last]) {
		out = appendHint(out, HighReading, values[last], values[last], oddness(d, logs[:last], logs[last], len(readings), 1))
	}
	if d.NothingBelow(logs[0]) {
		out = appendHint(out, LowReading, values[0], values[0], oddness(d, logs[1:], logs[0], len(readings), -1))
	}
	g := widestGap(plottingPositions(readings, blom))
	return appendHint(out, TwoGroups, g.lower, g.upper, g.oddness(readings, m.Sigma))
}

func appendHint(out []Hint, kind HintKind, lower, upper, p float64) []Hint {
	if !(p <= hintProbability) {
		return out
	}
	return append(out, Hint{Kind: kind, Lower: lower, Upper: upper, Probability: p})
}

// oddness is the chance that the outermost of n readings, on the side of sign, lies at least as far out as y by a fit to the
// others, whose detected logs are rest; NaN when they allow none. The standardized distance is taken as Student's t with the
// degrees of freedom that the information about ln sigma is worth, w - 1 = 1/(2 var ln sigma) - 1, and the spread and the
// error of mu are those of the divisor w - 1. Without censoring w is the number of the others, and n times the tail of t is
// Grubbs' test: an upper bound of the p-value, and exact where it is small (Grubbs 1950, from memory).
func oddness(d likelihood.Data, rest []float64, y float64, n int, sign float64) float64 {
	d.Exact, d.Squares = 0, 0
	d.Describe(rest, 1)
	m, err := likelihood.Maximize(d)
	if err != nil {
		return math.NaN()
	}
	w := m.Worth()
	if !(w >= 2) {
		return math.NaN()
	}
	t := sign * (y - m.Mu) / math.Sqrt(w/(w-1)*(m.Sigma*m.Sigma+m.MuError*m.MuError))
	return min(float64(n)*numeric.StudentTSurvival(w-1, t), 1)
}

// gap lies between two neighboring detected values.
type gap struct {
	lower, upper float64
	// width is the difference of the logs and scores that of the normal scores: width is about sigma times scores when the
	// group is normal.
	width, scores float64
	// among is the number of gaps of which this is the widest for its place; 0 when there is none.
	among int
}

// widestGap finds the gap that is widest for its place, with at least minGroup readings on either side. Equal values count as
// one at their mean score, so that rounded readings open no gaps.
func widestGap(points []plotted) gap {
	edge := (minGroup - 0.5) / float64(len(points))
	var widest gap
	var before, here tied
	for i := 0; i < len(points); {
		if i, here = nextTied(points, i); here.count == 0 {
			continue
		}
		if before.count > 0 && before.highest >= edge && here.lowest <= 1-edge {
			g := gap{before.value, here.value, math.Log(here.value) - math.Log(before.value), here.score - before.score, widest.among}
			if widest.among == 0 || g.width*widest.scores > widest.width*g.scores {
				widest = g
			}
			widest.among++
		}
		before = here
	}
	return widest
}

// oddness is the chance of a gap at least as wide as the widest of a normal group. Over sigma and the difference of the scores
// a gap is nearly exponential with mean 1 (Pyke 1965, JRSS B 27, 395, from memory), so that the widest of k exceeds g with
// chance 1 - (1 - e^-g)^k. Two groups would hide their gap by the spread they lend to sigma, so sigma is that of the readings
// with the gap closed to the width it is expected to have; under a normal group that changes little. NaN when there is no gap
// to judge.
func (g gap) oddness(readings []reading.Reading, sigma float64) float64 {
	expected := sigma * g.scores
	if g.among == 0 || !(g.width > expected) {
		return math.NaN()
	}
	m, err := likelihood.Maximize(likelihood.NewData(g.closed(readings, expected), 1))
	if err != nil {
		return math.NaN()
	}
	w := m.Worth() - 1
	if !(w > 0) {
		return math.NaN()
	}
	wide := g.width / (m.Sigma * math.Sqrt((w+1)/w) * g.scores)
	return -math.Expm1(float64(g.among) * math.Log1p(-math.Exp(-2*w*math.Log1p(wide/(2*w)))))
}

// closed moves what lies over the gap down until the gap has the width expected, and bounds inside the gap to its lower end.
func (g gap) closed(readings []reading.Reading, expected float64) []reading.Reading {
	factor := math.Exp(expected - g.width)
	moved := func(v float64) float64 {
		if v <= g.lower {
			return v
		}
		return max(g.lower, v*factor)
	}
	out := make([]reading.Reading, 0, len(readings))
	for i := range readings {
		r := reading.Reading{Kind: readings[i].Kind, Lower: moved(readings[i].Lower), Upper: moved(readings[i].Upper)}
		// A band inside the gap has lost its width and says no more than that its reading is at the lower end.
		if r.Kind == reading.Between && r.Lower == r.Upper {
			r = reading.At(g.lower)
		}
		out = append(out, r)
	}
	return out
}

// tied is a value with the positions and the mean score of the detected readings that share it.
type tied struct {
	value, lowest, highest, score float64
	count                         int
}

// nextTied collects the detected points with the value of point i and returns the index after them.
func nextTied(points []plotted, i int) (int, tied) {
	var t tied
	for t.value = points[i].value; i < len(points) && points[i].value == t.value; i++ {
		if points[i].censored {
			continue
		}
		if t.count == 0 {
			t.lowest = points[i].position
		}
		t.highest = points[i].position
		t.count++
		t.score += (numeric.NormalQuantile(points[i].position) - t.score) / float64(t.count)
	}
	return i, t
}
