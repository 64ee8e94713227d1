package sheet

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Room around what is drawn, in units of a sheet.
const (
	// Margin is that at the edges of a sheet.
	Margin = 14.0
	// AxisTop and AxisBottom are over and under a panel.
	AxisTop, AxisBottom = 80.0, 48.0
	axisLeft            = 64.0
	// labelRoom is the room at the right for labels beside their lines.
	labelRoom = 186.0
)

// Panel is the part of a sheet in which data stand.
type Panel struct {
	*Sheet
	// X and Y are the scales to the right and upwards.
	X, Y Scale
	// Floor is the lowest place of a label at the right.
	Floor float64
	// Rise is how high over the panel its upward axis is named.
	Rise float64
}

// Panel lays out the usual part of a sheet. The scales have their low and high, and how they are divided.
func (s *Sheet) Panel(x, y Scale) *Panel {
	x.From, x.To = axisLeft, s.Width-labelRoom
	y.From, y.To = AxisBottom+s.below, s.Height-AxisTop
	floor := AxisBottom - LineHeight
	if s.Narrow() {
		x.To, floor = s.Width-Margin, 0
	}
	return &Panel{s, x, y, floor, 12}
}

// Whole is the sheet as one panel.
func (p *Panel) Whole() *Panel {
	edge := func(to float64) Scale { return Scale{To: to, High: 1, Onto: Linear} }
	return &Panel{Sheet: p.Sheet, X: edge(p.Width), Y: edge(p.Height)}
}

// Raised leaves room over the panel for the label of an upright line.
func (p *Panel) Raised() *Panel {
	p.Rise += LineHeight
	p.Y.To -= LineHeight
	return p
}

// Axes draws the grid, the frame and the marks, with what the axes are of.
func (p *Panel) Axes(xTicks, yTicks []Tick, xName, yName string) {
	var grid [][4]float64
	for _, t := range yTicks {
		y := p.Y.At(t.Value)
		grid = append(grid, [4]float64{p.X.From, y, p.X.To, y})
	}
	for _, t := range xTicks {
		x := p.X.At(t.Value)
		grid = append(grid, [4]float64{x, p.Y.From, x, p.Y.To})
	}
	p.Segments(gridLine, grid...)
	p.marks(xTicks)
	for _, t := range yTicks {
		p.Words(p.X.From-7, p.Y.At(t.Value)-4, t.Label, quietType.At(Right))
	}
	p.Words(Margin, p.Y.To+p.Rise, quietType.Fitting(Clean(yName), p.X.To-Margin), quietType)
	p.Words((p.X.From+p.X.To)/2, p.Y.From-36, quietType.Fitting(Clean(xName), p.Width-2*Margin), quietType.At(Middle))
}

// marks writes the numbers under the panel.
func (p *Panel) marks(ticks []Tick) {
	end := math.Inf(-1)
	for _, t := range ticks {
		x, half := p.X.At(t.Value), 0.0
		if p.Narrow() {
			half = quietType.Width(t.Label)/2 + 2
			if x-half < end || x+half > p.Width {
				continue // There is no room for every number.
			}
		}
		p.Words(x, p.Y.From-17, t.Label, quietType.At(Middle))
		end = x + half
	}
}

// Edges draws the two axes over the data that end there.
func (p *Panel) Edges() {
	p.Segments(frameLine, [4]float64{p.X.From, p.Y.From, p.X.To, p.Y.From}, [4]float64{p.X.From, p.Y.From, p.X.From, p.Y.To})
}

// Curve draws a line through points in the panel, cut where it leaves it and where a point is missing.
func (p *Panel) Curve(l Line, xs, ys []float64) {
	var path vg.Path
	c := p.clip()
	for i := 1; i < len(xs); i++ {
		from, to, seen := c.segment(p.Point(xs[i-1], ys[i-1]), p.Point(xs[i], ys[i]))
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

// Band fills what lies between two curves over the same xs; missing points are left out.
func (p *Panel) Band(xs, low, high []float64) {
	var outline []vg.Point
	for i := range xs {
		if a := p.Point(xs[i], high[i]); whole(a) && Finite(low[i]) {
			outline = append(outline, a)
		}
	}
	for i, x := range slices.Backward(xs) {
		if a := p.Point(x, low[i]); whole(a) && Finite(high[i]) {
			outline = append(outline, a)
		}
	}
	p.Area(outline, Pale)
}

// Point is the place of a point of the data.
func (p *Panel) Point(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(p.X.At(x)), Y: vg.Length(p.Y.At(y))}
}

// whole says that a point has a place.
func whole(p vg.Point) bool { return Finite(float64(p.X)) && Finite(float64(p.Y)) }
