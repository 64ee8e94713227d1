package sheet

import "gonum.org/v1/plot/vg"

// Color is a color without transparency, as 0xRRGGBB.
type Color uint32

// The colors differ in lightness, so that gray paper keeps them apart. The warm one is for what everything is judged by.
const (
	Paper Color = 0xffffff
	Ink   Color = 0x1c2228
	Quiet Color = 0x55606b
	Frame Color = 0xaab3bb
	Faint Color = 0xe6e9ec
	Deep  Color = 0x1d5c86
	Pale  Color = 0xd6e3ec
	Shade Color = 0xa9c3d6
	Warm  Color = 0x8c3d10
)

// RGBA makes it a color of package image/color.
func (c Color) RGBA() (r, g, b, a uint32) {
	of := func(part Color) uint32 { return uint32(part&255) * 0x101 }
	return of(c >> 16), of(c >> 8), of(c), 0xffff
}

// Line is the look of a line.
type Line struct {
	Color Color
	// Width is in units of a sheet.
	Width float64
	// Dash is the lengths of strokes and spaces in turn; none for a solid line.
	Dash []vg.Length
}

// Dashed is the line with strokes and spaces.
func (l Line) Dashed(lengths ...vg.Length) Line {
	l.Dash = lengths
	return l
}

// The lines and letters of what a sheet draws by itself.
var (
	gridLine     = Line{Color: Faint, Width: 1}
	frameLine    = Line{Color: Frame, Width: 1}
	leadLine     = Line{Color: Frame, Width: 0.8}
	barLine      = Line{Color: Ink, Width: 1.2}
	intervalLine = Line{Color: Deep, Width: 2}

	titleType = Lettering{color: Ink, size: titleSize, bold: true}
	quietType = Letters(Quiet)
)
