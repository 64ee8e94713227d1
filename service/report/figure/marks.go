package figure

import (
	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/reading"
)

// dashed is the line with strokes and spaces.
func (l line) dashed(lengths ...vg.Length) line {
	l.dash = lengths
	return l
}

// whisker draws the limits of a number upright at x, with an arrow where one lies beyond the panel.
func (p *panel) whisker(x, low, high float64) {
	p.interval(low, high, &p.y, func(along, across float64) vg.Point { return vg.Point{X: vg.Length(x + across), Y: vg.Length(along)} })
}

// lying draws the limits of a number from left to right at y.
func (p *panel) lying(y, low, high float64) {
	p.interval(low, high, &p.x, func(along, across float64) vg.Point { return vg.Point{X: vg.Length(along), Y: vg.Length(y + across)} })
}

func (p *panel) interval(low, high float64, s *scale, at func(along, across float64) vg.Point) {
	if !(low <= high) || low > s.high || high < s.low {
		return
	}
	from, to := s.within(low), s.within(high)
	var path vg.Path
	path.Move(at(from, 0))
	path.Line(at(to, 0))
	for _, end := range [...]struct {
		place, back float64
		inside      bool
	}{{from, 4, low >= s.low}, {to, -4, high <= s.high}} {
		back := end.back
		if end.inside {
			back = 0
		}
		path.Move(at(end.place+back, -4))
		if back != 0 {
			path.Line(at(end.place, 0))
		}
		path.Line(at(end.place+back, 4))
	}
	p.stroke(path, fitLine)
}

// diamond draws the mark of an estimate.
func (p *panel) diamond(x, y float64) { p.estimate(x, y, diamond) }

func (p *panel) estimate(x, y float64, o outline) {
	if !finite(x) || !finite(y) || x < 0 || x > p.width || y < 0 || y > p.height {
		return
	}
	var path vg.Path
	o.trace(&path, x, y, 5)
	p.shape(path, deep, line{color: paper, width: 1})
}

// key explains the markers that are there, at the lower right; along is as for markers. The labels stay over it.
func (p *panel) key(c reading.Counts, along bool) {
	rows := []struct {
		n    int
		kind reading.Kind
		what string
	}{
		{c.Between, reading.Between, "between two bounds"},
		{c.Above, reading.Above, "above the range"},
		{c.Below, reading.Below, "below reporting limit"},
		{c.Detected, reading.Detected, "reading with a value"},
	}
	if c.Censored() == 0 {
		return
	}
	const row = 18
	y, x := 13.0, p.x.to+22
	if p.narrow() {
		shown := 0
		for _, r := range rows {
			if r.n > 0 {
				shown++
			}
		}
		y, x = p.below-14-row*float64(shown-1), p.width/2+12
	}
	wide := p.whole()
	for _, r := range rows {
		if r.n == 0 {
			continue
		}
		m := marker{x: x, y: y, low: x - 10, high: x + 10, kind: r.kind}
		if !along {
			m.low, m.high = y-8, y+8
		}
		m.shift(along)
		wide.markers([]marker{m}, round, along)
		p.words(x+20, y-4, r.what, quietType)
		y += row
	}
	p.floor = y
}

// shift centers a marker together with its mark.
func (m *marker) shift(along bool) {
	by := 0.0
	switch m.kind {
	case reading.Below:
		by = markerTail / 2
	case reading.Above:
		by = -markerTail / 2
	default:
	}
	if along {
		m.x += by
	} else {
		m.y += by
	}
}
