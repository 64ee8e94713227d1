package figure

import (
	"math"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/reading"
)

// outline is the outline of a marker.
type outline uint8

const (
	round outline = iota
	square
	triangle
	diamond
	wedge
	plus
	outlines
)

// markerSize is the radius of a marker, markerTail the length of the mark of a reading that lies beyond a bound.
const (
	markerSize = 3.6
	markerTail = 8.0
)

// trace adds the marker to a path.
func (o outline) trace(path *vg.Path, x, y, r float64) {
	at := func(dx, dy float64) vg.Point { return vg.Point{X: vg.Length(x + r*dx), Y: vg.Length(y + r*dy)} }
	var corners [][2]float64
	switch o {
	case square:
		corners = [][2]float64{{-0.9, -0.9}, {0.9, -0.9}, {0.9, 0.9}, {-0.9, 0.9}}
	case triangle:
		corners = [][2]float64{{-1.1, -0.8}, {1.1, -0.8}, {0, 1.2}}
	case diamond:
		corners = [][2]float64{{-1.2, 0}, {0, -1.2}, {1.2, 0}, {0, 1.2}}
	case wedge:
		corners = [][2]float64{{-1.1, 0.8}, {0, -1.2}, {1.1, 0.8}}
	case plus:
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

// marker is a reading on a sheet. low and high are the places of its bounds.
type marker struct {
	x, y, low, high float64
	kind            reading.Kind
}

// crowd is how many readings are so many that their markers are drawn smaller.
const crowd = 100

// mostMarkers is how many markers of one kind and outline are drawn; of more, those that would hide each other are left out.
const mostMarkers = 240

// thin leaves out markers of which another one hides most.
func thin(all []marker) []marker {
	for cell := 0.5; ; cell *= 1.6 {
		type place struct{ x, y int }
		seen := make(map[place]bool, len(all))
		kept := make([]marker, 0, min(len(all), mostMarkers+1))
		for _, m := range all {
			p := place{int(math.Round(m.x / cell)), int(math.Round(m.y / cell))}
			if !seen[p] {
				seen[p] = true
				kept = append(kept, m)
			}
		}
		if len(kept) <= mostMarkers {
			return kept
		}
	}
}

// markers draws readings: filled where there is a value, hollow with a mark down or up where only a bound is known, a bar between
// two bounds. along says that concentration runs to the right and not upwards.
func (p *panel) markers(all []marker, o outline, along bool) {
	var kinds [reading.Between + 1][]marker
	for _, m := range all {
		if int(m.kind) < len(kinds) && p.inside(m.x, m.y) {
			kinds[m.kind] = append(kinds[m.kind], m)
		}
	}
	size, rim := markerSize, 0.7
	if len(all) > crowd {
		size, rim = 2, 0.3
	}
	var bars [][4]float64
	for _, m := range thin(kinds[reading.Between]) {
		bars = append(bars, p.bar(m, along))
	}
	p.segments(dataLine, bars...)
	below, above := thin(kinds[reading.Below]), thin(kinds[reading.Above])
	p.tails(below, -1, along)
	p.tails(above, 1, along)
	hollow := append(append(below, above...), thin(kinds[reading.Between])...)
	if path := tracing(hollow, o, size); len(path) > 0 {
		p.shape(path, paper, line{color: ink, width: 1.2})
	}
	if path := tracing(thin(kinds[reading.Detected]), o, size); len(path) > 0 {
		p.shape(path, ink, line{color: paper, width: rim})
	}
}

// inside says that a place lies in the panel or just at its edge.
func (p *panel) inside(x, y float64) bool {
	return x >= p.x.from-1 && x <= p.x.to+1 && y >= p.y.from-1 && y <= p.y.to+1
}

func tracing(markers []marker, o outline, size float64) vg.Path {
	var path vg.Path
	for _, m := range markers {
		o.trace(&path, m.x, m.y, size)
	}
	return path
}

// bar is the line between the bounds of a reading, as far as the panel goes.
func (p *panel) bar(m marker, along bool) [4]float64 {
	inside := func(v, low, high float64) float64 { return max(low, min(high, v)) }
	if along {
		return [4]float64{inside(m.low, p.x.from, p.x.to), m.y, inside(m.high, p.x.from, p.x.to), m.y}
	}
	return [4]float64{m.x, inside(m.low, p.y.from, p.y.to), m.x, inside(m.high, p.y.from, p.y.to)}
}

// tails draws the marks of readings that lie beyond a bound: a stem with a point towards where they lie.
func (p *panel) tails(markers []marker, way float64, along bool) {
	var path vg.Path
	for _, m := range markers {
		at := func(across, on float64) vg.Point {
			if along {
				return vg.Point{X: vg.Length(m.x + way*on), Y: vg.Length(m.y + across)}
			}
			return vg.Point{X: vg.Length(m.x + across), Y: vg.Length(m.y + way*on)}
		}
		end := markerSize + markerTail
		path.Move(at(0, markerSize))
		path.Line(at(0, end))
		path.Move(at(-2.4, end-2.8))
		path.Line(at(0, end))
		path.Line(at(2.4, end-2.8))
	}
	if len(path) > 0 {
		p.stroke(path, line{color: ink, width: 1})
	}
}
