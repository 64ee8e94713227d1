package figure

import (
	"image/color"
	"io"
	"math"
	"strings"
	"unicode"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/fault"
)

// Sizes in units of a sheet, which a browser shows as a pixel each.
const (
	sheetWidth  = 640
	sheetHeight = 400
	titleSize   = 14.0
	bodySize    = 12.0
	lineHeight  = 15.0
)

// The colors differ in lightness, so that gray paper keeps them apart. The warm one is kept for the limit.
var (
	paper  = color.Gray{Y: 255}
	ink    = rgb(0x1c2228)
	quiet  = rgb(0x55606b)
	frame  = rgb(0xaab3bb)
	faint  = rgb(0xe6e9ec)
	deep   = rgb(0x1d5c86)
	pale   = rgb(0xd6e3ec)
	shade  = rgb(0xa9c3d6)
	bounds = rgb(0x8c3d10)
)

func rgb(c uint32) color.RGBA {
	return color.RGBA{R: uint8(c >> 16 & 255), G: uint8(c >> 8 & 255), B: uint8(c & 255), A: 255}
}

// The lines. No two differ by color alone.
var (
	gridLine  = line{color: faint, width: 1}
	frameLine = line{color: frame, width: 1}
	fitLine   = line{color: deep, width: 2}
	thinLine  = line{color: deep, width: 1}
	limitLine = line{color: bounds, width: 1.6, dash: []vg.Length{8, 4}}
	dataLine  = line{color: ink, width: 1.2}
	leadLine  = line{color: frame, width: 0.8}
)

// The letters.
var (
	titleType = lettering{color: ink, size: titleSize, bold: true}
	bodyType  = lettering{color: ink, size: bodySize}
	quietType = lettering{color: quiet, size: bodySize}
	limitType = lettering{color: bounds, size: bodySize, bold: true}
	deepType  = lettering{color: deep, size: bodySize, bold: true}
)

func (s lettering) at(a anchor) lettering {
	s.anchor = a
	return s
}

// sheet is what a figure is drawn on, with its heading. The words are what a reader who cannot see it is told.
type sheet struct {
	pen
	width, height float64
	// below is the room for labels under the panel; 0 where they stand at its right.
	below           float64
	title, subtitle string
	description     string
}

// draw has a figure painted and writes it.
func (s *sheet) draw(w io.Writer, f Format, paint func()) error {
	switch f {
	case SVG, NarrowSVG:
		p := &svgPen{height: s.height, out: make([]byte, 0, 16<<10)}
		s.pen = p
		s.heading()
		paint()
		return p.document(w, s)
	case PNG:
		p := newPNG(s.width, s.height)
		s.pen = p
		s.heading()
		paint()
		return p.document(w)
	default:
		return fault.Invalid("format", "is %d, which is no format of a figure", f)
	}
}

// heading writes the title and the line under it.
func (s *sheet) heading() {
	s.words(margin, s.height-24, titleType.fitting(clean(s.headline()), s.width-2*margin), titleType)
	s.words(margin, s.height-42, quietType.fitting(clean(s.subtitle), s.width-2*margin), quietType)
}

// words writes one line of text with its baseline at y.
func (s *sheet) words(x, y float64, text string, l lettering) {
	if text != "" && finite(x) && finite(y) {
		s.write(vg.Point{X: vg.Length(x), Y: vg.Length(y)}, text, l)
	}
}

// segments draws straight lines, each from (x0, y0) to (x1, y1), as one path.
func (s *sheet) segments(l line, ends ...[4]float64) {
	var path vg.Path
	for _, e := range ends {
		if finite(e[0]) && finite(e[1]) && finite(e[2]) && finite(e[3]) {
			path.Move(vg.Point{X: vg.Length(e[0]), Y: vg.Length(e[1])})
			path.Line(vg.Point{X: vg.Length(e[2]), Y: vg.Length(e[3])})
		}
	}
	if len(path) > 0 {
		s.stroke(path, l)
	}
}

// clean takes out of a text what no document may hold and what would break a line.
func clean(text string) string {
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

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// raised has a halo.
func (s lettering) raised() lettering {
	s.halo = true
	return s
}

func (s lettering) strong() lettering {
	s.bold = true
	return s
}
