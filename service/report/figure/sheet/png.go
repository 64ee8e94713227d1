package sheet

import (
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
	return pngPen{vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(resolution), vgimg.UseBackgroundColor(Paper))}
}

func (p pngPen) document(w io.Writer) error { return png.Encode(w, p.canvas.Image()) }

func (p pngPen) stroke(path vg.Path, l Line) {
	p.canvas.SetColor(l.Color)
	p.canvas.SetLineWidth(vg.Length(l.Width))
	p.canvas.SetLineDash(l.Dash, 0)
	p.canvas.Stroke(path)
}

func (p pngPen) fill(path vg.Path, c Color) {
	p.canvas.SetColor(c)
	p.canvas.Fill(path)
}

func (p pngPen) shape(path vg.Path, c Color, l Line) {
	p.fill(path, c)
	p.stroke(path, l)
}

func (p pngPen) write(at vg.Point, words string, s Lettering) {
	face := s.face()
	switch s.anchor {
	case Middle:
		at.X -= face.Width(words) / 2
	case Right:
		at.X -= face.Width(words)
	default:
	}
	if s.halo {
		p.canvas.SetColor(Paper)
		for _, d := range [...]vg.Point{{X: 1.2}, {X: -1.2}, {Y: 1.2}, {Y: -1.2}, {X: 0.9, Y: 0.9}, {X: -0.9, Y: 0.9}, {X: 0.9, Y: -0.9}, {X: -0.9, Y: -0.9}} {
			p.canvas.FillString(*face, at.Add(d), words)
		}
	}
	p.canvas.SetColor(s.color)
	p.canvas.FillString(*face, at, words)
}
