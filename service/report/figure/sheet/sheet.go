// Package sheet is what figures are drawn on: paper with a title, a panel with two scales, and the lines, areas, markers and labels that
// stand in it, written as SVG or PNG. It knows nothing of what is drawn. The same strokes give the same bytes.
package sheet

import (
	"io"
	"math"
	"strings"
	"unicode"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/fault"
)

// Sizes in units of a sheet, which a browser shows as a pixel each.
const (
	// UsualWidth and UsualHeight are those of most sheets.
	UsualWidth, UsualHeight = 640, 400
	// LineHeight is from one line of words to the next.
	LineHeight = 15.0
	titleSize  = 14.0
	bodySize   = 12.0
)

// Sheet is what a figure is drawn on, with its heading. The words are what a reader who cannot see it is told.
type Sheet struct {
	pen
	Width, Height   float64
	Title, Subtitle string
	// Description is all that the sheet shows, in sentences.
	Description string
	// below is the room for labels under the panel; 0 where they stand at its right.
	below float64
}

// Format is a way to write a sheet.
type Format uint8

const (
	// SVG is scalable vector graphics.
	SVG Format = iota
	// PNG is portable network graphics, with two pixels for each unit of the SVG.
	PNG
	// NarrowSVG is SVG of a sheet that is narrow where its figure can be; see [Sheet.Shaped].
	NarrowSVG
)

// Draw has a figure painted and writes it. The error is that of w, or a fault about a format that is none.
func (s *Sheet) Draw(w io.Writer, f Format, paint func()) error {
	switch f {
	case SVG, NarrowSVG:
		p := &svgPen{height: s.Height, out: make([]byte, 0, 16<<10)}
		s.pen = p
		s.heading()
		paint()
		return p.document(w, s)
	case PNG:
		p := newPNG(s.Width, s.Height)
		s.pen = p
		s.heading()
		paint()
		return p.document(w)
	default:
		return fault.Invalid("format", "is %d, which is no format of a figure", f)
	}
}

// heading writes the title and the line under it.
func (s *Sheet) heading() {
	s.Words(Margin, s.Height-24, titleType.Fitting(Clean(s.headline()), s.Width-2*Margin), titleType)
	s.Words(Margin, s.Height-42, quietType.Fitting(Clean(s.Subtitle), s.Width-2*Margin), quietType)
}

// Words writes one line of text with its baseline at y.
func (s *Sheet) Words(x, y float64, text string, l Lettering) {
	if text != "" && Finite(x) && Finite(y) {
		s.write(vg.Point{X: vg.Length(x), Y: vg.Length(y)}, text, l)
	}
}

// Segments draws straight lines, each from (x0, y0) to (x1, y1), as one path.
func (s *Sheet) Segments(l Line, ends ...[4]float64) {
	var path vg.Path
	for _, e := range ends {
		if Finite(e[0]) && Finite(e[1]) && Finite(e[2]) && Finite(e[3]) {
			path.Move(vg.Point{X: vg.Length(e[0]), Y: vg.Length(e[1])})
			path.Line(vg.Point{X: vg.Length(e[2]), Y: vg.Length(e[3])})
		}
	}
	if len(path) > 0 {
		s.stroke(path, l)
	}
}

// Clean takes out of a text what no document may hold and what would break a line.
func Clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == unicode.ReplacementChar || r == 0xfffe || r == 0xffff:
			return -1
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, text)
}

// Finite says that v is a number.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
