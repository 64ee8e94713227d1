package sheet

import (
	"slices"

	"gonum.org/v1/plot/vg"
)

// clip is the rectangle outside of which nothing is drawn.
type clip struct{ vg.Rectangle }

func (p *Panel) clip() clip {
	return clip{vg.Rectangle{
		Min: vg.Point{X: vg.Length(p.X.From), Y: vg.Length(p.Y.From)},
		Max: vg.Point{X: vg.Length(p.X.To), Y: vg.Length(p.Y.To)},
	}}
}

// segment is the part of a line from a to b inside the rectangle.
func (c clip) segment(a, b vg.Point) (from, to vg.Point, seen bool) {
	if !whole(a) || !whole(b) {
		return a, b, false
	}
	start, end := 0.0, 1.0
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	for _, side := range [...][2]float64{
		{-dx, float64(a.X - c.Min.X)}, {dx, float64(c.Max.X - a.X)}, {-dy, float64(a.Y - c.Min.Y)}, {dy, float64(c.Max.Y - a.Y)},
	} {
		slope, room := side[0], side[1]
		switch {
		case slope == 0 && room < 0:
			return a, b, false
		case slope < 0:
			start = max(start, room/slope)
		case slope > 0:
			end = min(end, room/slope)
		}
	}
	if start > end {
		return a, b, false
	}
	along := func(t float64) vg.Point {
		switch t {
		case 0:
			return c.nearest(a)
		case 1:
			return c.nearest(b)
		}
		return c.nearest(vg.Point{X: a.X + vg.Length(t*dx), Y: a.Y + vg.Length(t*dy)})
	}
	return along(start), along(end), true
}

// nearest takes a point back that rounding has put outside.
func (c clip) nearest(a vg.Point) vg.Point {
	return vg.Point{X: max(c.Min.X, min(c.Max.X, a.X)), Y: max(c.Min.Y, min(c.Max.Y, a.Y))}
}

// Area fills the part of a polygon inside the panel.
func (p *Panel) Area(outline []vg.Point, c Color) {
	if path := p.cropped(outline); len(path) > 0 {
		p.fill(path, c)
	}
}

// RimmedArea fills the part of a polygon inside the panel and draws its outline, so that what has no width shows.
func (p *Panel) RimmedArea(outline []vg.Point, c Color, rim Line) {
	if path := p.cropped(outline); len(path) > 0 {
		p.shape(path, c, rim)
	}
}

// cropped is the part of a polygon inside the panel.
func (p *Panel) cropped(outline []vg.Point) vg.Path {
	r := p.clip()
	outline = slices.DeleteFunc(outline, func(a vg.Point) bool { return !whole(a) })
	for _, side := range [...]struct {
		inside func(vg.Point) bool
		cross  func(a, b vg.Point) vg.Point
	}{
		{func(a vg.Point) bool { return a.X >= r.Min.X }, atX(r.Min.X)},
		{func(a vg.Point) bool { return a.X <= r.Max.X }, atX(r.Max.X)},
		{func(a vg.Point) bool { return a.Y >= r.Min.Y }, atY(r.Min.Y)},
		{func(a vg.Point) bool { return a.Y <= r.Max.Y }, atY(r.Max.Y)},
	} {
		outline = cut(outline, side.inside, side.cross)
	}
	if len(outline) < 3 {
		return nil
	}
	var path vg.Path
	path.Move(r.nearest(outline[0]))
	for _, a := range outline[1:] {
		path.Line(r.nearest(a))
	}
	path.Close()
	return path
}

// cut keeps the part of a polygon on one side of a line (Sutherland and Hodgman 1974).
func cut(outline []vg.Point, inside func(vg.Point) bool, cross func(a, b vg.Point) vg.Point) []vg.Point {
	var out []vg.Point
	for i, b := range outline {
		a := outline[(i+len(outline)-1)%len(outline)]
		if inside(a) != inside(b) {
			out = append(out, cross(a, b))
		}
		if inside(b) {
			out = append(out, b)
		}
	}
	return out
}

func atX(x vg.Length) func(a, b vg.Point) vg.Point {
	return func(a, b vg.Point) vg.Point { return vg.Point{X: x, Y: a.Y + (b.Y-a.Y)*((x-a.X)/(b.X-a.X))} }
}

func atY(y vg.Length) func(a, b vg.Point) vg.Point {
	return func(a, b vg.Point) vg.Point { return vg.Point{X: a.X + (b.X-a.X)*((y-a.Y)/(b.Y-a.Y)), Y: y} }
}
