package check

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// blom is the constant a of the plotting positions (i - a)/(n + 1 - 2a) whose normal quantile is closest to the expected order
// statistic of a normal sample.
const blom = 0.375

// plotted is a reading at its plotting position.
type plotted struct {
	// from is the reading, and value it or the bound of a censored one as reading.Value gives it.
	from  *reading.Reading
	value float64
	// position is the fraction of exposures thought to lie under it, in 0..1.
	position float64
	censored bool
}

// plotPoints gives plotted readings their normal scores.
func plotPoints(points []plotted) []PlotPoint {
	out := make([]PlotPoint, len(points))
	for i, p := range points {
		out[i] = PlotPoint{
			Reading: p.value, NormalScore: numeric.NormalQuantile(p.position), Censored: p.censored,
			Kind: p.from.Kind, Lower: p.from.Lower, Upper: p.from.Upper,
		}
	}
	return out
}

// plottingPositions honors the censored readings: the bounds cut the line into cells, the product-limit estimate gives the mass
// of each cell, and the detected readings of a cell divide its mass evenly with the constant a. Readings that share a bound
// divide the mass on their side of it in the same way; their place there says no more. The points come ascending.
//
// Source: Hirsch and Stedinger (1987), Water Resources Research 23, 715, and Helsel and Cohn (1988), WRR 24, 1997, for results
// below several limits (from memory); above a range the same holds in the mirror. For both at once the mass is Turnbull's
// (1976, JRSS B 38, 290, from memory) estimate, to which both reduce.
func plottingPositions(readings []reading.Reading, a float64) []plotted {
	s := newCells(readings)
	cumulative := s.cumulative()
	out := make([]plotted, 0, len(readings))
	for i := 0; i < len(s.spans); {
		first, last := s.spans[i].first, s.spans[i].last
		n := 1
		for i+n < len(s.spans) && s.spans[i+n].sharesWith(s.spans[i]) {
			n++
		}
		from, mass := cumulative[first], cumulative[last+1]-cumulative[first]
		for rank := 1; rank <= n; rank++ {
			share := (float64(rank) - a) / (float64(n) + 1 - 2*a)
			out = append(out, plotted{s.spans[i].from, s.spans[i].value, from + mass*share, s.spans[i].censored})
			i++
		}
	}
	slices.SortStableFunc(out, func(p, q plotted) int {
		return cmp.Or(cmp.Compare(p.value, q.value), cmp.Compare(p.position, q.position))
	})
	return out
}

// cellCut is a bound on the line. A result below a limit lies under it, so a value equal to the limit lies over the cut; a result
// above a range lies over it, so a value equal to its top lies under the cut, which comes just after.
type cellCut struct {
	at    float64
	after bool
}

func (c cellCut) compare(d cellCut) int {
	if c.at != d.at || c.after == d.after {
		return cmp.Compare(c.at, d.at)
	}
	if d.after {
		return -1
	}
	return 1
}

// cellSpan is a reading with the cells in which it may lie.
type cellSpan struct {
	from        *reading.Reading
	value       float64
	first, last int
	censored    bool
}

func (s cellSpan) sharesWith(o cellSpan) bool {
	return s.first == o.first && s.last == o.last && s.censored == o.censored
}

// cells are the pieces of the line between cuts, cell j from cut j-1 to cut j, and the readings in them.
type cells struct {
	cuts []cellCut
	// spans are sorted by cell, then kind, then value.
	spans []cellSpan
	// detected counts the detected readings of each cell, starting and ending the censored ones whose first or last cell it is.
	detected, starting, ending []int
	// below and above say whether any reading is bounded on that side only, or between two bounds.
	below, above, between bool
}

func newCells(readings []reading.Reading) *cells {
	s := &cells{spans: make([]cellSpan, len(readings))}
	for i := range readings {
		s.addCuts(&readings[i])
	}
	slices.SortFunc(s.cuts, cellCut.compare)
	s.cuts = slices.Compact(s.cuts)
	counts := make([]int, 3*(len(s.cuts)+1))
	s.detected, s.starting, s.ending = counts[:len(counts)/3], counts[len(counts)/3:2*len(counts)/3], counts[2*len(counts)/3:]
	for i := range readings {
		p := s.place(&readings[i])
		if p.censored {
			s.starting[p.first]++
			s.ending[p.last]++
		} else {
			s.detected[p.first]++
		}
		s.spans[i] = p
	}
	slices.SortFunc(s.spans, func(x, y cellSpan) int {
		return cmp.Or(cmp.Compare(x.first, y.first), cmp.Compare(x.last, y.last), compareBool(x.censored, y.censored),
			cmp.Compare(x.value, y.value))
	})
	return s
}

func compareBool(x, y bool) int {
	switch {
	case x == y:
		return 0
	case y:
		return -1
	}
	return 1
}

// addCuts notes the bounds of a reading and its kind.
func (s *cells) addCuts(r *reading.Reading) {
	switch {
	case r.Kind == reading.Detected:
	case r.Kind == reading.Above:
		s.cuts = append(s.cuts, cellCut{r.Lower, true})
		s.above = true
	case r.Lower == 0:
		s.cuts = append(s.cuts, cellCut{r.Upper, false})
		s.below = true
	default:
		s.cuts = append(s.cuts, cellCut{r.Lower, false}, cellCut{r.Upper, false})
		s.between = true
	}
}

// place finds the cells of a reading.
func (s *cells) place(r *reading.Reading) cellSpan {
	index := func(c cellCut) int {
		i, _ := slices.BinarySearchFunc(s.cuts, c, cellCut.compare)
		return i
	}
	p := cellSpan{from: r, value: r.Value(), last: len(s.cuts), censored: true}
	switch {
	case r.Kind == reading.Detected:
		// The cuts before the value, and the one at it that is not after.
		p.first = index(cellCut{r.Lower, true})
		p.last, p.censored = p.first, false
	case r.Kind == reading.Above:
		p.first = index(cellCut{r.Lower, true}) + 1
	case r.Lower == 0:
		p.last = index(cellCut{r.Upper, false})
	default:
		p.first = index(cellCut{r.Lower, false}) + 1
		p.last = index(cellCut{r.Upper, false})
	}
	return p
}

// cumulative returns the estimated fraction of exposures under each cut: element 0 is 0, element j+1 what lies in cells 0..j.
func (s *cells) cumulative() []float64 {
	f := make([]float64, len(s.cuts)+2)
	f[len(f)-1] = 1
	switch {
	case len(s.cuts) == 0:
	case s.between || s.below && s.above:
		s.selfConsistent(f)
	case s.below:
		s.downwards(f)
	default:
		s.upwards(f)
	}
	return f
}

// downwards is the product-limit estimate for results below limits: from the top, the readings known to be under the upper
// cut of a cell divide it by those known to lie in the cell and those known to lie under it.
func (s *cells) downwards(f []float64) {
	under := len(s.spans)
	for j := len(s.cuts); j > 0; j-- {
		in := s.detected[j]
		under -= in + s.ending[j]
		f[j] = f[j+1] * float64(under) / float64(in+under)
	}
}

// upwards is its mirror image for results above ranges.
func (s *cells) upwards(f []float64) {
	over, left := len(s.spans), 1.0
	for j := range len(s.cuts) {
		in := s.detected[j]
		over -= in + s.starting[j]
		left *= float64(over) / float64(in+over)
		f[j+1] = 1 - left
	}
}

const (
	// turnbullSteps and turnbullSettled bound the passes of the self-consistent estimate by number and by the largest change
	// of a mass in one pass.
	turnbullSteps   = 1000
	turnbullSettled = 1e-10
)

// selfConsistent fills the cumulative masses for censoring of several kinds at once: each pass gives every reading's share to
// the cells in which it may lie, in proportion to their masses (Turnbull 1976). Mass can only stay in cells that hold a
// detected reading or that are both the first cell of some reading and the last of another; the rest start empty.
func (s *cells) selfConsistent(f []float64) {
	mass := s.startingMass()
	weight := make([]float64, len(mass)+1)
	for range turnbullSteps {
		accumulate(f, mass)
		if s.pass(f, mass, weight) < turnbullSettled {
			break
		}
	}
	accumulate(f, mass)
}

func (s *cells) startingMass() []float64 {
	mass := make([]float64, len(s.cuts)+1)
	total := 0.0
	for j := range mass {
		if s.detected[j] > 0 || s.starting[j] > 0 && s.ending[j] > 0 {
			mass[j] = 1 + float64(s.detected[j])
			total += mass[j]
		}
	}
	for j := range mass {
		mass[j] /= total
	}
	return mass
}

// accumulate makes f the cumulative sums of mass, ending at exactly 1.
func accumulate(f, mass []float64) {
	for j, m := range mass {
		f[j+1] = f[j] + m
	}
	f[len(mass)] = 1
}

// pass redistributes the readings once and returns the largest change of a mass.
func (s *cells) pass(f, mass, weight []float64) float64 {
	clear(weight)
	for _, p := range s.spans {
		if p.censored {
			share := 1 / (f[p.last+1] - f[p.first])
			weight[p.first] += share
			weight[p.last+1] -= share
		}
	}
	n, running, change := float64(len(s.spans)), 0.0, 0.0
	for j := range mass {
		running += weight[j]
		next := (float64(s.detected[j]) + mass[j]*running) / n
		change = max(change, math.Abs(next-mass[j]))
		mass[j] = next
	}
	return change
}
