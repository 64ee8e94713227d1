package sheet

import "gonum.org/v1/plot/vg"

// pen puts lines, areas and words on a sheet. Its origin is the bottom left corner.
type pen interface {
	stroke(path vg.Path, l Line)
	fill(path vg.Path, c Color)
	// shape fills a path and draws its outline.
	shape(path vg.Path, c Color, l Line)
	write(at vg.Point, words string, s Lettering)
}
