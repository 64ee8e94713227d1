package sheet

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// Outline is the outline of a marker.
type Outline uint8

// The outlines, each told apart from the others without color. Outlines is how many there are.
const (
	Round Outline = iota
	Square
	Triangle
	Diamond
	Wedge
	Plus
	Outlines
)

// Form says what is known of what a marker stands for.
type Form uint8

const (
	// Solid is a value: a filled outline.
	Solid Form = iota
	// Downward lies under its place: a hollow outline with a mark towards where it is.
	Downward
	// Upward lies over its place.
	Upward
	// Barred lies between two bounds: a hollow outline on a bar.
	Barred
	// Hidden is not drawn.
	Hidden
)

// markerSize is the radius of a marker, markerTail the length of the mark of one that lies beyond its place.
const (
	markerSize = 3.6
	markerTail = 8.0
)

// trace adds the marker to a path.
func (o Outline) trace(path *vg.Path, x, y, r float64) {
	at := func(dx, dy float64) vg.Point { return vg.Point{X: vg.Length(x + r*dx), Y: vg.Length(y + r*dy)} }
	var corners [][2]float64
	switch o {
	case Square:
		corners = [][2]float64{{-0.9, -0.9}, {0.9, -0.9}, {0.9, 0.9}, {-0.9, 0.9}}
	case Triangle:
		corners = [][2]float64{{-1.1, -0.8}, {1.1, -0.8}, {0, 1.2}}
	case Diamond:
		corners = [][2]float64{{-1.2, 0}, {0, -1.2}, {1.2, 0}, {0, 1.2}}
	case Wedge:
		corners = [][2]float64{{-1.1, 0.8}, {0, -1.2}, {1.1, 0.8}}
	case Plus:
		corners = [][2]float64{
			{-1.2, -0.4},
			{-0.4, -0.4},
			{-0.4, -1.2},
			{0.4, -1.2},
			{0.4, -0.4},
			{1.2, -0.4},
			{1.2, 0.4},
			{0.4, 0.4},
			{0.4, 1.2},
			{-0.4, 1.2},
			{-0.4, 0.4},
			{-1.2, 0.4},
		}
	default:
		path.Move(at(1, 0))
		path.Arc(at(0, 0), vg.Length(r), 0, 2*math.Pi)
		path.Close()
		return
	}
	path.Move(at(corners[0][0], corners[0][1]))
	for _, c := range corners[1:] {
		path.Line(at(c[0], c[1]))
	}
	path.Close()
}

// Marker is one of many things at its place on a sheet.
type Marker struct {
	X, Y float64
	// Low and High are the places of its bounds.
	Low, High float64
	Form      Form
}

// Centered is the marker moved so that it stands in the middle together with its mark; along is as for Markers.
func (m Marker) Centered(along bool) Marker {
	by := 0.0
	switch m.Form {
	case Downward:
		by = markerTail / 2
	case Upward:
		by = -markerTail / 2
	default:
	}
	if along {
		m.X += by
	} else {
		m.Y += by
	}
	return m
}

// Crowd is how many markers are so many that they are drawn smaller.
const Crowd = 100

// MostMarkers is how many markers of one kind and outline are drawn; of more, those that would hide each other are left out.
const MostMarkers = 240

// thin leaves out markers of which another one hides most.
func thin(all []Marker) []Marker {
	for cell := 0.5; ; cell *= 1.6 {
		type place struct{ x, y int }
		seen := make(map[place]bool, len(all))
		kept := make([]Marker, 0, min(len(all), MostMarkers+1))
		for _, m := range all {
			p := place{int(math.Round(m.X / cell)), int(math.Round(m.Y / cell))}
			if !seen[p] {
				seen[p] = true
				kept = append(kept, m)
			}
		}
		if len(kept) <= MostMarkers {
			return kept
		}
	}
}

// Markers draws markers by their form. along says that what they measure runs to the right and
// not upwards.
func (p *Panel) Markers(all []Marker, o Outline, along bool) {
	var kinds [Hidden][]Marker
	for _, m := range all {
		if m.Form < Hidden && p.inside(m.X, m.Y) {
			kinds[m.Form] = append(kinds[m.Form], m)
		}
	}
	size, rim := markerSize, 0.7
	if len(all) > Crowd {
		size, rim = 2, 0.3
	}
	var bars [][4]float64
	for _, m := range thin(kinds[Barred]) {
		bars = append(bars, p.bar(m, along))
	}
	p.Segments(barLine, bars...)
	below, above := thin(kinds[Downward]), thin(kinds[Upward])
	p.tails(below, -1, along)
	p.tails(above, 1, along)
	hollow := append(append(below, above...), thin(kinds[Barred])...)
	if path := tracing(hollow, o, size); len(path) > 0 {
		p.shape(path, Paper, Line{Color: Ink, Width: 1.2})
	}
	if path := tracing(thin(kinds[Solid]), o, size); len(path) > 0 {
		p.shape(path, Ink, Line{Color: Paper, Width: rim})
	}
}

// inside says that a place lies in the panel or just at its edge.
func (p *Panel) inside(x, y float64) bool {
	return x >= p.X.From-1 && x <= p.X.To+1 && y >= p.Y.From-1 && y <= p.Y.To+1
}

func tracing(markers []Marker, o Outline, size float64) vg.Path {
	var path vg.Path
	for _, m := range markers {
		o.trace(&path, m.X, m.Y, size)
	}
	return path
}

// bar is the line between the bounds of a marker, as far as the panel goes.
func (p *Panel) bar(m Marker, along bool) [4]float64 {
	inside := func(v, low, high float64) float64 { return max(low, min(high, v)) }
	if along {
		return [4]float64{inside(m.Low, p.X.From, p.X.To), m.Y, inside(m.High, p.X.From, p.X.To), m.Y}
	}
	return [4]float64{m.X, inside(m.Low, p.Y.From, p.Y.To), m.X, inside(m.High, p.Y.From, p.Y.To)}
}

// tails draws the marks of what lies beyond its place: a stem with a point towards where they lie.
func (p *Panel) tails(markers []Marker, way float64, along bool) {
	var path vg.Path
	for _, m := range markers {
		at := func(across, on float64) vg.Point {
			if along {
				return vg.Point{X: vg.Length(m.X + way*on), Y: vg.Length(m.Y + across)}
			}
			return vg.Point{X: vg.Length(m.X + across), Y: vg.Length(m.Y + way*on)}
		}
		end := markerSize + markerTail
		path.Move(at(0, markerSize))
		path.Line(at(0, end))
		path.Move(at(-2.4, end-2.8))
		path.Line(at(0, end))
		path.Line(at(2.4, end-2.8))
	}
	if len(path) > 0 {
		p.stroke(path, Line{Color: Ink, Width: 1})
	}
}
