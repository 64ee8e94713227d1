package figure

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Room around what is drawn, in units of a sheet.
const (
	margin     = 14.0
	axisLeft   = 64.0
	axisBottom = 48.0
	axisTop    = 80.0
	// labelRoom is the room at the right for labels beside their lines.
	labelRoom = 186.0
)

// panel is the part of a sheet in which data stand.
type panel struct {
	*sheet
	x, y scale
	// floor is the lowest place of a label at the right.
	floor float64
	// rise is how high over the panel its upward axis is named.
	rise float64
}

// panel lays out the usual part of a sheet. The scales have their low and high, and how they are divided.
func (s *sheet) panel(x, y scale) *panel {
	x.from, x.to = axisLeft, s.width-labelRoom
	y.from, y.to = axisBottom+s.below, s.height-axisTop
	floor := axisBottom - lineHeight
	if s.narrow() {
		x.to, floor = s.width-margin, 0
	}
	return &panel{s, x, y, floor, 12}
}

// raised leaves room over the panel for the label of an upright line.
func (p *panel) raised() *panel {
	p.rise += lineHeight
	p.y.to -= lineHeight
	return p
}

// axes draws the grid, the frame and the marks, with what the axes are of.
func (p *panel) axes(xTicks, yTicks []tick, xName, yName string) {
	var grid [][4]float64
	for _, t := range yTicks {
		y := p.y.at(t.value)
		grid = append(grid, [4]float64{p.x.from, y, p.x.to, y})
	}
	for _, t := range xTicks {
		x := p.x.at(t.value)
		grid = append(grid, [4]float64{x, p.y.from, x, p.y.to})
	}
	p.segments(gridLine, grid...)
	p.marks(xTicks)
	for _, t := range yTicks {
		p.words(p.x.from-7, p.y.at(t.value)-4, t.label, quietType.at(right))
	}
	p.words(margin, p.y.to+p.rise, quietType.fitting(clean(yName), p.x.to-margin), quietType)
	p.words((p.x.from+p.x.to)/2, p.y.from-36, quietType.fitting(clean(xName), p.width-2*margin), quietType.at(middle))
}

// marks writes the numbers under the panel.
func (p *panel) marks(ticks []tick) {
	end := math.Inf(-1)
	for _, t := range ticks {
		x, half := p.x.at(t.value), 0.0
		if p.narrow() {
			half = quietType.width(t.label)/2 + 2
		}
		if p.narrow() && (x-half < end || x+half > p.width) {
			continue // There is no room for every number.
		}
		p.words(x, p.y.from-17, t.label, quietType.at(middle))
		end = x + half
	}
}

// edges draws the two axes over the data that end there.
func (p *panel) edges() {
	p.segments(frameLine, [4]float64{p.x.from, p.y.from, p.x.to, p.y.from}, [4]float64{p.x.from, p.y.from, p.x.from, p.y.to})
}

// curve draws a line through points in the panel, cut where it leaves it and where a point is missing.
func (p *panel) curve(l line, xs, ys []float64) {
	var path vg.Path
	c := p.clip()
	for i := 1; i < len(xs); i++ {
		from, to, seen := c.segment(p.point(xs[i-1], ys[i-1]), p.point(xs[i], ys[i]))
		if !seen {
			continue
		}
		if n := len(path); n == 0 || path[n-1].Pos != from {
			path.Move(from)
		}
		path.Line(to)
	}
	if len(path) > 0 {
		p.stroke(path, l)
	}
}

// band fills what lies between two curves over the same xs; missing points are left out.
func (p *panel) band(xs, low, high []float64) {
	var outline []vg.Point
	for i := range xs {
		if a := p.point(xs[i], high[i]); whole(a) && finite(low[i]) {
			outline = append(outline, a)
		}
	}
	for i, x := range slices.Backward(xs) {
		if a := p.point(x, low[i]); whole(a) && finite(high[i]) {
			outline = append(outline, a)
		}
	}
	p.area(outline, pale)
}

func (p *panel) point(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(p.x.at(x)), Y: vg.Length(p.y.at(y))}
}

// whole says that a point has a place.
func whole(p vg.Point) bool { return finite(float64(p.X)) && finite(float64(p.Y)) }
