package figure

import (
	"image/color"
	"image/png"
	"io"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// resolution gives two pixels for each unit of a sheet, which is 1/72 inch.
const resolution = 2 * 72

// pngPen draws pixels.
type pngPen struct{ canvas *vgimg.Canvas }

func newPNG(width, height float64) pngPen {
	return pngPen{vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(resolution), vgimg.UseBackgroundColor(paper))}
}

func (p pngPen) document(w io.Writer) error { return png.Encode(w, p.canvas.Image()) }

func (p pngPen) stroke(path vg.Path, l line) {
	p.canvas.SetColor(l.color)
	p.canvas.SetLineWidth(vg.Length(l.width))
	p.canvas.SetLineDash(l.dash, 0)
	p.canvas.Stroke(path)
}

func (p pngPen) fill(path vg.Path, c color.Color) {
	p.canvas.SetColor(c)
	p.canvas.Fill(path)
}

func (p pngPen) shape(path vg.Path, c color.Color, l line) {
	p.fill(path, c)
	p.stroke(path, l)
}

func (p pngPen) write(at vg.Point, words string, s lettering) {
	face := s.face()
	p.canvas.SetColor(s.color)
	switch s.anchor {
	case middle:
		at.X -= face.Width(words) / 2
	case right:
		at.X -= face.Width(words)
	default:
	}
	p.canvas.FillString(*face, at, words)
}
