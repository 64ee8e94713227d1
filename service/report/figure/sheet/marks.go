package sheet

import "gonum.org/v1/plot/vg"

// Whisker draws the limits of a number upright at x, with an arrow where one lies beyond the panel.
func (p *Panel) Whisker(x, low, high float64) {
	p.interval(low, high, &p.Y, func(along, across float64) vg.Point { return vg.Point{X: vg.Length(x + across), Y: vg.Length(along)} })
}

// Lying draws the limits of a number from left to right at y.
func (p *Panel) Lying(y, low, high float64) {
	p.interval(low, high, &p.X, func(along, across float64) vg.Point { return vg.Point{X: vg.Length(along), Y: vg.Length(y + across)} })
}

func (p *Panel) interval(low, high float64, s *Scale, at func(along, across float64) vg.Point) {
	if !(low <= high) || low > s.High || high < s.Low {
		return
	}
	from, to := s.Within(low), s.Within(high)
	var path vg.Path
	path.Move(at(from, 0))
	path.Line(at(to, 0))
	for _, end := range [...]struct {
		place, back float64
		inside      bool
	}{{from, 4, low >= s.Low}, {to, -4, high <= s.High}} {
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
	p.stroke(path, intervalLine)
}

// Estimate draws an estimate as a filled outline.
func (p *Panel) Estimate(x, y float64, o Outline) {
	if !Finite(x) || !Finite(y) || x < 0 || x > p.Width || y < 0 || y > p.Height {
		return
	}
	var path vg.Path
	o.trace(&path, x, y, 5)
	p.shape(path, Deep, Line{Color: Paper, Width: 1})
}
