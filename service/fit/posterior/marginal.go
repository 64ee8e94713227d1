package posterior

import (
	"errors"
	"math"
	"slices"
)

const (
	// outerHalvings bounds the refinements of a marginal and outerMost its stations.
	outerHalvings = 6
	outerMost     = 2500
	// outerCut is the density, relative to the largest, below which the rest of that side is left out.
	outerCut = 1e-11
	// outerNodes bounds the nodes of one side on the first grid.
	outerNodes = 500
	// outerProof is the number of stations from one that is compared with a finer grid to the next.
	outerProof = 5
	// outerBound is the roughness that is let pass.
	outerBound = 4e-9
)

var errNoMarginal = errors.New("posterior: a marginal of the posterior did not come out smooth")

// survey finds a marginal.
type survey struct {
	lower, upper *ruler
	// peak is the largest logarithm of the density by x so far.
	peak float64
	// step is the spacing of the first grid and bound the roughness that is let pass.
	step, bound float64
}

func (f *density) survey(a family) *survey {
	v := &survey{upper: newRuler(f, a.upper, a.inner, f.fineness), peak: math.Inf(-1), step: a.step / f.fineness, bound: outerBound / (f.fineness * f.fineness * f.fineness)}
	v.lower = v.upper
	if a.lower != a.upper {
		v.lower = newRuler(f, a.lower, a.inner, f.fineness)
	}
	return v
}

// station is one value of the outer variable.
type station struct {
	// log is the logarithm of the density by x, err its relative error.
	log, err float64
	// span is where the line there lies.
	span
}

func (s *station) failed() bool { return math.IsNaN(s.log) }

// part is a stretch of the outer variable while it is found: stations at x = first + k step.
type part struct {
	warp
	first, step float64
	stations    []station
}

func (p *part) x(k int) float64 { return p.first + p.step*float64(k) }

// call says how to visit a station.
type call struct {
	x     float64
	guess span
	// near is the logarithm of the density close by.
	near float64
	// proof asks for a comparison with a finer grid.
	proof bool
}

// visit integrates along the curve at one x.
func (v *survey) visit(r *ruler, w *warp, c call) station {
	place, slope := w.at(c.x)
	slack := math.Exp(v.peak - c.near)
	l := r.integrate(place, c.guess, slack)
	if c.proof {
		l = r.proven(l, slack)
	}
	s := station{l.log + math.Log(slope), l.err, l.span}
	if s.log > v.peak {
		v.peak = s.log
	}
	return s
}

// side marches outward from a station on one side.
func (v *survey) side(r *ruler, w *warp, from station, step float64) ([]station, error) {
	out := make([]station, 0, 24)
	last, before := from, from
	for k := 1; k <= outerNodes; k++ {
		guess := span{2*last.center - before.center, last.width * min(max(last.width/before.width, 0.5), 2)}
		s := v.visit(r, w, call{step * float64(k), guess, last.log, k == outerProof})
		if s.failed() {
			return nil, errNoMarginal
		}
		if math.IsInf(s.log, -1) {
			break
		}
		out = append(out, s)
		before, last = last, s
		if s.log < v.peak+math.Log(outerCut) {
			break
		}
	}
	return out, nil
}

// begin visits the stations of a part on both sides of x = 0. guess and start are where the line there lies on the upper and on the
// lower curve.
func (v *survey) begin(w warp, guess, start span) (*part, error) {
	center := v.visit(v.upper, &w, call{0, guess, math.Inf(1), true})
	if center.failed() {
		return nil, errNoMarginal
	}
	up, err := v.side(v.upper, &w, center, v.step)
	if err != nil {
		return nil, err
	}
	below := center
	if v.lower != v.upper {
		below = v.visit(v.lower, &w, call{0, start, center.log, true})
	}
	down, err := v.side(v.lower, &w, below, -v.step)
	if err != nil {
		return nil, err
	}
	slices.Reverse(down)
	all := append(append(down, center), up...)
	return &part{warp: w, first: -v.step * float64(len(all)-1-len(up)), step: v.step, stations: all}, nil
}

// halve visits the stations half way between.
func (v *survey) halve(p *part) error {
	finer := make([]station, 0, 2*len(p.stations))
	for k, s := range p.stations {
		finer = append(finer, s)
		if k == len(p.stations)-1 {
			break
		}
		next := p.stations[k+1]
		x := p.x(k) + 0.5*p.step
		r, near := v.upper, next
		if x < 0 {
			r, near = v.lower, s
		}
		m := v.visit(r, &p.warp, call{x, near.span, max(s.log, next.log) - 1, false})
		if m.failed() {
			return errNoMarginal
		}
		finer = append(finer, m)
	}
	p.stations, p.step = finer, 0.5*p.step
	return nil
}

// smooth halves the spacings until the series of every part is smooth, for its share of the whole.
func (v *survey) smooth(parts []*part) (*marginal, error) {
	for range outerHalvings {
		m := v.assemble(parts)
		if !(m.mass > 0) {
			return nil, errNoMarginal
		}
		rough := false
		for i, p := range parts {
			if q := &m.pieces[i]; q.roughness()*q.mass > v.bound*m.mass {
				rough = true
				if m.nodes > outerMost {
					return nil, errNoMarginal
				}
				if err := v.halve(p); err != nil {
					return nil, err
				}
			}
		}
		if !rough {
			return m, nil
		}
	}
	return nil, errNoMarginal
}

// assemble makes the marginal of its parts.
func (v *survey) assemble(parts []*part) *marginal {
	m := &marginal{scale: v.peak, pieces: make([]piece, 0, len(parts))}
	for _, p := range parts {
		values := make([]float64, len(p.stations)|1)
		for i := range p.stations {
			values[i] = math.Exp(p.stations[i].log - v.peak)
			m.err += values[i] * p.stations[i].err * p.step
		}
		if n := len(p.stations); n > 1 {
			m.err += p.step * (remainder(values[0], values[1]) + remainder(values[n-1], values[n-2]))
		}
		q := newPiece(p.warp, values, p.first-0.5*p.step, p.step)
		m.pieces = append(m.pieces, q)
		m.mass += q.mass
		m.nodes += len(values)
	}
	m.err /= m.mass
	for i := range m.pieces {
		if q := &m.pieces[i]; q.mass > 0 {
			m.err += q.roughness() * q.mass / m.mass
		}
	}
	return m
}

// seed is the span along the curve through a place, from the curvature there.
func (r *ruler) seed(outer, inner float64) span {
	r.home = inner
	if !r.choose(outer) {
		return span{inner, lineSeed}
	}
	return r.climb(span{min(max(inner, r.lower), r.upper), lineSeed})
}

// lineSeed is the first step in search of the width of a line.
const lineSeed = 0.05

// open finds a marginal that falls off at both ends.
func (f *density) open(a family, s summit) (*marginal, error) {
	v := f.survey(a)
	outer, inner := a.upper.locate(s.mu, s.lambda)
	v.upper.wary = a.wary
	w := warp{center: outer, width: a.width, shape: a.outer, lower: math.Inf(-1), upper: math.Inf(1)}
	guess := v.upper.seed(outer, inner)
	start := guess
	if v.lower != v.upper {
		_, inner = a.lower.locate(s.mu, s.lambda)
		v.lower.wary = a.wary
		start = v.lower.seed(outer, inner)
	}
	p, err := v.begin(w, guess, start)
	if err != nil {
		return nil, err
	}
	return v.smooth([]*part{p})
}
