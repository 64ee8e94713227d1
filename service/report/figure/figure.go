// Package figure draws an answer: what people look at before they read. The same answer gives the same bytes.
//
// Every figure is told apart by lightness, stroke and shape before color, so that it survives a gray print; what is drawn is named
// where it stands rather than in a legend. Words and numbers in an SVG are text, with a title and a description for those who
// cannot see it.
package figure

// Format is a way to write a figure.
type Format uint8

const (
	// SVG is scalable vector graphics.
	SVG Format = iota
	// PNG is portable network graphics, with two pixels for each unit of the SVG.
	PNG
	// NarrowSVG is SVG for half a page or a telephone, with its labels beneath; other figures than those of a group are as in SVG.
	NarrowSVG
)
