package posterior

import "math"

const (
	// lineStep is the spacing of the first grid, in standard deviations, and lineFiner what it is multiplied with when that is too
	// coarse. At most lineGrids are tried.
	lineStep  = 0.6
	lineFiner = 0.75
	lineGrids = 14
	// lineReach is how far a line is first followed on each side, in standard deviations, lineMore the number of nodes added at a
	// time after that, and lineLongest bounds it.
	lineReach   = 6.6
	lineMore    = 3
	lineLongest = 60
	// lineCut is the size of a term, relative to the largest, below which the rest of that side is left out.
	lineCut = 1e-11
	// lineBound is the relative error of a line in the middle of the marginal that is let pass.
	lineBound = 3e-10
	// lineProven is the relative difference to the next finer grid that is let pass.
	lineProven = 3e-9
	// lineSlack bounds how much less is asked of a line in the tail of the marginal.
	lineSlack = 1e6
	// lineCenterings bounds how often a line is tried again with the center and the width found.
	lineCenterings = 3
	// lineClimb is the rise of the logarithm above that of the supposed center at which a better one is looked for.
	lineClimb = 30
	// lineSliver is the length of a line, relative to its place, of which one value is enough.
	lineSliver = 1e-12
)

// span is the center and the width of a density of one variable.
type span struct{ center, width float64 }

// line is the integral along one curve.
type line struct {
	// log is the logarithm of the integral, err its estimated relative error.
	log, err float64
	// span holds the mean and the standard deviation of the inner variable.
	span
}

// ruler integrates along the curves of one family.
type ruler struct {
	f     *density
	curve curve
	shape shape
	// grids go from coarse to fine; level is the one in use.
	grids []*grid
	level int
	// wary says to look for the top of every line over a wide range about home, not only where the line before had it; home is the
	// inner value at the summit.
	wary bool
	home float64
	// lower and upper bound the inner variable on the chosen curve.
	lower, upper float64
	// down and up are the numbers of nodes that the line before needed on each side of its center.
	down, up int
	// inner and slope are the places of a row of nodes and their slopes by x.
	inner, slope []float64
	batch        batch
}

func newRuler(f *density, c curve, s shape, fineness float64) *ruler {
	step := lineStep / fineness
	n := int(lineReach / step)
	return &ruler{f: f, curve: c, shape: s, grids: []*grid{f.grid(s, step)}, down: n, up: n}
}

// choose takes the curve at outer and says whether any of it is inside the box.
func (r *ruler) choose(outer float64) bool {
	r.curve.on(outer)
	r.lower, r.upper = math.Inf(-1), math.Inf(1)
	if r.f.prior.flat {
		r.lower, r.upper = r.curve.inside(&r.f.prior.box)
	}
	return r.lower < r.upper
}

// logs returns the density at the places in r.inner.
func (r *ruler) logs() []float64 {
	r.batch.sized(len(r.inner))
	r.curve.at(r.inner, &r.batch)
	r.f.logs(&r.batch)
	return r.batch.log
}

// log returns the density at one place, nothing outside the box.
func (r *ruler) log(inner float64) float64 {
	if inner < r.lower || inner > r.upper {
		return math.Inf(-1)
	}
	r.inner = append(r.inner[:0], inner)
	return r.logs()[0]
}

// integrate returns the integral along the curve at outer. The guess says where to start; slack, at least 1, how much less
// exactly the line need be known than one in the middle of the marginal. A NaN says that it failed.
func (r *ruler) integrate(outer float64, guess span, slack float64) line {
	nothing := line{log: math.Inf(-1), span: guess}
	if !r.choose(outer) {
		return nothing
	}
	slack = eased(slack)
	if length := r.upper - r.lower; length < lineSliver*(1+math.Abs(r.lower)) {
		middle := r.lower + 0.5*length
		return line{log: r.log(middle) + math.Log(length), span: span{middle, length}}
	}
	if r.wary {
		guess = r.highest(guess)
	}
	centerings, climbs := 0, 0
	for range lineGrids + 2*lineCenterings {
		guess.center = min(max(guess.center, r.lower), r.upper)
		s := r.march(guess, lineCut*slack)
		if s.lost {
			if climbs++; climbs == 1 {
				guess = r.climb(guess)
			} else {
				guess = r.highest(guess)
			}
			if guess.width == 0 {
				return nothing
			}
			continue
		}
		l := s.line(guess, r.grids[r.level].step)
		if l.err <= lineBound*slack {
			return l
		}
		if s.offCenter(guess, l.span) && centerings < lineCenterings {
			centerings++
		} else if !r.finer() {
			break
		}
		guess = l.span
	}
	return line{log: math.NaN()}
}

// eased keeps slack within bounds. It is NaN where the density has fallen to nothing.
func eased(slack float64) float64 {
	if slack >= 1 {
		return min(slack, lineSlack)
	}
	return 1
}

// finer goes on to the next finer grid and says whether there was one.
func (r *ruler) finer() bool {
	if r.level++; r.level == lineGrids {
		r.level--
		return false
	}
	if r.level == len(r.grids) {
		r.grids = append(r.grids, r.f.grid(r.shape, r.grids[r.level-1].step*lineFiner))
	}
	more := 1 / lineFiner
	r.down, r.up = int(more*float64(r.down))+1, int(more*float64(r.up))+1
	return true
}

// proven compares a line with that on the next finer grid and goes over to that for good when they differ too much. What is analytic
// in a narrow strip only, if with little weight, is not seen in the difference of the even and the odd nodes.
func (r *ruler) proven(l line, slack float64) line {
	slack = eased(slack)
	for l.log > math.Inf(-1) {
		level, down, up := r.level, r.down, r.up
		if !r.finer() {
			break
		}
		s := r.march(l.span, lineCut*slack)
		if s.lost {
			return line{log: math.NaN()}
		}
		finer := s.line(l.span, r.grids[r.level].step)
		gap := math.Abs(math.Expm1(finer.log - l.log))
		if gap <= lineProven*slack {
			r.level, r.down, r.up = level, down, up
			l.err += gap
			return l
		}
		l = finer
	}
	return l
}

// sums is what a march along a line gathers. Places are in widths from the supposed center, terms relative to that there.
type sums struct {
	log, peak float64
	// even and odd are the sums over the nodes of even and of odd number, evenOne and oddOne those of the terms times their places,
	// two that of the terms times the squares of their places.
	even, odd, evenOne, oddOne, two float64
	// rest estimates the terms left out.
	rest float64
	// lost says that the supposed center was no place to start from.
	lost bool
}

// march sums the terms outward from the supposed center until they no longer count. Where it comes to an edge of the box first, the
// nodes are laid anew so that they end there.
func (r *ruler) march(guess span, cut float64) sums {
	w := warp{shape: r.shape, center: guess.center, width: guess.width, lower: math.Inf(-1), upper: math.Inf(1)}
	for {
		// An edge changes where the nodes lie, so that they may come to the other one too.
		for r.edge(&w, -r.down, r.up) {
		}
		s, passed := r.sum(&w, cut)
		if !passed || s.lost {
			return s
		}
	}
}

// edge gives a warp the edges of the box that nodes between from and to would pass, and says whether there are any.
func (r *ruler) edge(w *warp, from, to int) bool {
	passed := false
	step := r.grids[r.level].step
	if math.IsInf(w.lower, -1) && !math.IsInf(r.lower, -1) {
		if t, _ := w.at(step * float64(from)); t <= r.lower {
			w.lower, passed = (r.lower-w.center)/w.width, true
		}
	}
	if math.IsInf(w.upper, 1) && !math.IsInf(r.upper, 1) {
		if t, _ := w.at(step * float64(to)); t >= r.upper {
			w.upper, passed = (r.upper-w.center)/w.width, true
		}
	}
	return passed
}

// sum sums the terms at the nodes of a warp. When it passes an edge of the box, the warp has got that edge and the sum is void.
func (r *ruler) sum(w *warp, cut float64) (s sums, passed bool) {
	down, up := r.down, r.up
	r.row(w, -down, up)
	logs := r.logs()
	s.log = logs[down]
	values := r.add(&s, w, -down, logs)
	if s.lost {
		return s, false
	}
	spareDown, spareUp := 0, 0
	for spareDown < down && values[spareDown] < cut*s.peak {
		spareDown++
	}
	for spareUp < up && values[down+up-spareUp] < cut*s.peak {
		spareUp++
	}
	r.down, r.up = down-spareDown+1, up-spareUp+1
	if spareDown == 0 {
		r.down, passed = r.extend(&s, w, -1, down, cut)
	} else {
		s.rest += remainder(values[0], values[1])
	}
	if spareUp != 0 {
		s.rest += remainder(values[down+up], values[down+up-1])
	} else if !passed && !s.lost {
		r.up, passed = r.extend(&s, w, 1, up, cut)
	}
	return s, passed
}

// extend goes on from the n-th node on one side, a few at a time, and returns how many there are when the terms no longer count.
func (r *ruler) extend(s *sums, w *warp, side, n int, cut float64) (nodes int, passed bool) {
	longest := int(lineLongest / r.grids[r.level].step)
	for n < longest {
		from, to, last, before := n+1, n+lineMore, lineMore-1, lineMore-2
		if side < 0 {
			from, to, last, before = -to, -from, 0, 1
		}
		if r.edge(w, min(from, 0), max(to, 0)) {
			return n, true
		}
		r.row(w, from, to)
		values := r.add(s, w, from, r.logs())
		if s.lost {
			return n, false
		}
		n += lineMore
		if values[last] < cut*s.peak {
			s.rest += remainder(values[last], values[before])
			return n, false
		}
	}
	s.lost = true
	return n, false
}

// remainder is the sum of the terms after the last, if they go on falling as it does from the one before.
func remainder(last, before float64) float64 {
	if last == 0 {
		return 0
	}
	if last < 0.9*before {
		return last * last / (before - last)
	}
	return 10 * last
}

// row lays the nodes from one to another.
func (r *ruler) row(w *warp, from, to int) {
	r.inner, r.slope = r.inner[:0], r.slope[:0]
	g := r.grids[r.level]
	if w.free() {
		for k := from; k <= to; k++ {
			n := g.node(k)
			r.inner, r.slope = append(r.inner, w.center+w.width*n.place), append(r.slope, n.slope)
		}
		return
	}
	for k := from; k <= to; k++ {
		t, slope := w.at(g.step * float64(k))
		r.inner, r.slope = append(r.inner, t), append(r.slope, slope/w.width)
	}
}

// add adds the row that starts at node from and turns its logarithms into the terms.
func (r *ruler) add(s *sums, w *warp, from int, logs []float64) []float64 {
	if !(s.log > math.Inf(-1)) {
		s.lost = true
		return nil
	}
	scale := 1 / w.width
	for i, l := range logs {
		l -= s.log
		if !(l < lineClimb) {
			s.lost = true
			return nil
		}
		v := math.Exp(l) * r.slope[i]
		logs[i] = v
		y := (r.inner[i] - w.center) * scale
		if (from+i)&1 == 0 {
			s.even += v
			s.evenOne += v * y
		} else {
			s.odd += v
			s.oddOne += v * y
		}
		s.two += v * y * y
		s.peak = max(s.peak, v)
	}
	return logs
}

// line turns sums into the integral.
//
// The error of the trapezoid rule is the Fourier transform of the integrand at the frequency 2 pi/h, and for an integrand analytic
// in a strip the square of that at pi/h bounds it. Of the transform at pi/h the grid shows the real part, by the difference of the
// sums over even and odd nodes. That may be 0 by accident, and then its derivative is not: the same difference of the terms times
// their places.
func (s *sums) line(guess span, step float64) line {
	total := s.even + s.odd
	mean := (s.evenOne + s.oddOne) / total
	gap := (s.even - s.odd) / total
	lean := (s.evenOne - s.oddOne) / total * step / math.Pi
	return line{
		log:  s.log + math.Log(total*step*guess.width),
		err:  gap*gap + lean*lean + s.rest/total,
		span: span{guess.center + guess.width*mean, guess.width * math.Sqrt(max(s.two/total-mean*mean, 0))},
	}
}

// offCenter says that the grid was misplaced or too wide, rather than too coarse.
func (s *sums) offCenter(guess, found span) bool {
	return found.width < 0.8*guess.width || math.Abs(found.center-guess.center) > 0.5*found.width
}
