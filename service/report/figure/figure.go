// Package figure draws an answer: what people look at before they read. The same answer gives the same bytes.
//
// Every figure is told apart by lightness, stroke and shape before color, so that it survives a gray print; what is drawn is named
// where it stands rather than in a legend. Words and numbers in an SVG are text, with a title and a description for those who
// cannot see it.
package figure

import (
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/report/figure/sheet"
)

// Format is a way to write a figure.
type Format = sheet.Format

const (
	// SVG is scalable vector graphics.
	SVG = sheet.SVG
	// PNG is portable network graphics, with two pixels for each unit of the SVG.
	PNG = sheet.PNG
	// NarrowSVG is SVG for half a page or a telephone, with its labels beneath; other figures than those of a group are as in SVG.
	NarrowSVG = sheet.NarrowSVG
)

// missing is the fault of a figure whose data are absent.
func missing(what string) error {
	return fault.Unsettled("there is nothing to draw: the answer has no %s", what)
}
