package sheet

import (
	"fmt"
	"html"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// svgPen writes scalable vector graphics, small ones: coordinates to a tenth of a unit and relative to each other, and no style
// that a page's security policy could refuse.
type svgPen struct {
	height float64
	out    []byte
}

// document is the figure with its title and description for those who cannot see it.
func (p *svgPen) document(w io.Writer, s *Sheet) error {
	head := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" role="img" width="%g" height="%g" viewBox="0 0 %g %g" `+
		`font-family="Liberation Sans,Arial,Helvetica,sans-serif" font-size="%g"><title>%s</title><desc>%s</desc>`+
		`<path fill="%s" d="M0,0h%gv%gh-%gz"/>`+"\n", s.Width, s.Height, s.Width, s.Height, bodySize,
		html.EscapeString(Clean(s.Title)), html.EscapeString(Clean(s.Description)), hex(Paper), s.Width, s.Height, s.Width)
	if _, err := io.WriteString(w, head); err != nil {
		return err
	}
	_, err := w.Write(append(p.out, "</svg>\n"...))
	return err
}

func (p *svgPen) stroke(path vg.Path, l Line) {
	p.out = append(p.out, `<path fill="none"`...)
	p.look(l)
	p.outline(path)
}

func (p *svgPen) fill(path vg.Path, c Color) {
	p.out = append(p.out, `<path fill="`+hex(c)+`"`...)
	p.outline(path)
}

func (p *svgPen) shape(path vg.Path, c Color, l Line) {
	p.out = append(p.out, `<path fill="`+hex(c)+`"`...)
	p.look(l)
	p.outline(path)
}

// look writes the attributes of a line.
func (p *svgPen) look(l Line) {
	p.out = append(p.out, ` stroke="`+hex(l.Color)+`"`...)
	if l.Width != 1 {
		p.out = append(p.out, ` stroke-width="`...)
		p.out = append(strconv.AppendFloat(p.out, l.Width, 'g', -1, 64), '"')
	}
	if len(l.Dash) == 0 {
		return
	}
	p.out = append(p.out, ` stroke-dasharray="`...)
	for i, d := range l.Dash {
		if i > 0 {
			p.out = append(p.out, ',')
		}
		p.out = strconv.AppendFloat(p.out, float64(d), 'g', -1, 64)
	}
	p.out = append(p.out, '"')
}

func (p *svgPen) outline(path vg.Path) {
	p.out = append(p.out, ` d="`...)
	t := track{height: p.height, out: p.out}
	for i, c := range path {
		switch c.Type {
		case vg.MoveComp:
			if i+1 < len(path) && path[i+1].Type == vg.ArcComp {
				continue // A circle knows where it begins.
			}
			t.move(c.Pos)
		case vg.LineComp:
			t.line(c.Pos)
		case vg.ArcComp:
			t.circle(c.Pos, float64(c.Radius))
		default:
			if i > 0 && path[i-1].Type == vg.ArcComp {
				continue // It is closed already.
			}
			t.out = append(t.out, 'z')
			t.x, t.y = t.x0, t.y0
		}
	}
	p.out = t.out
	p.out = append(p.out, "\"/>\n"...)
}

// track writes the outline of a path, in tenths of a unit.
type track struct {
	height float64
	out    []byte
	// x and y are where the track is, x0 and y0 where this part of it began.
	x, y, x0, y0 int
	// begun says that nothing was drawn since the part began.
	begun bool
}

func (t *track) tenths(p vg.Point) (x, y int) {
	return int(math.Round(10 * float64(p.X))), int(math.Round(10 * (t.height - float64(p.Y))))
}

func (t *track) move(p vg.Point) {
	t.x, t.y = t.tenths(p)
	t.x0, t.y0, t.begun = t.x, t.y, true
	t.out = appendTenths(append(t.out, 'M'), t.x)
	t.out = appendTenths(append(t.out, ','), t.y)
}

// line leaves out what is too small to be seen, but draws at least a dot.
func (t *track) line(p vg.Point) {
	x, y := t.tenths(p)
	dx, dy := x-t.x, y-t.y
	switch {
	case dx == 0 && dy == 0 && !t.begun:
		return
	case dy == 0:
		t.out = appendTenths(append(t.out, 'h'), dx)
	case dx == 0:
		t.out = appendTenths(append(t.out, 'v'), dy)
	default:
		t.out = appendTenths(append(t.out, 'l'), dx)
		if dy > 0 {
			t.out = append(t.out, ',')
		}
		t.out = appendTenths(t.out, dy)
	}
	t.x, t.y, t.begun = x, y, false
}

// circle draws a whole circle, the only arc of these figures.
func (t *track) circle(center vg.Point, radius float64) {
	t.move(vg.Point{X: center.X - vg.Length(radius), Y: center.Y})
	r := int(math.Round(10 * radius))
	for _, d := range [...]int{2 * r, -2 * r} {
		t.out = appendTenths(append(t.out, 'a'), r)
		t.out = appendTenths(append(t.out, ','), r)
		t.out = append(t.out, ",0,1,1,"...)
		t.out = append(appendTenths(t.out, d), ",0"...)
	}
	t.out = append(t.out, 'z')
}

// appendTenths writes a number of tenths as a decimal number, shortly.
func appendTenths(dst []byte, n int) []byte {
	if n < 0 {
		dst, n = append(dst, '-'), -n
	}
	if n >= 10 || n == 0 {
		dst = strconv.AppendInt(dst, int64(n/10), 10)
	}
	if n%10 != 0 {
		dst = append(dst, '.', byte('0'+n%10))
	}
	return dst
}

func (p *svgPen) write(at vg.Point, words string, s Lettering) {
	p.out = appendTenths(append(p.out, `<text x="`...), int(math.Round(10*float64(at.X))))
	p.out = appendTenths(append(p.out, `" y="`...), int(math.Round(10*(p.height-float64(at.Y)))))
	p.out = append(p.out, '"')
	switch s.anchor {
	case Middle:
		p.out = append(p.out, ` text-anchor="middle"`...)
	case Right:
		p.out = append(p.out, ` text-anchor="end"`...)
	default:
	}
	if s.size != bodySize {
		p.out = append(strconv.AppendFloat(append(p.out, ` font-size="`...), s.size, 'g', -1, 64), '"')
	}
	if s.bold {
		p.out = append(p.out, ` font-weight="bold"`...)
	}
	if s.halo {
		p.out = append(p.out, ` paint-order="stroke" stroke="`+hex(Paper)+`" stroke-width="3"`...)
	}
	p.out = append(p.out, ` fill="`+hex(s.color)+`">`+html.EscapeString(words)+"</text>\n"...)
}

// hex writes a color shortly.
func hex(c Color) string { return fmt.Sprintf("#%06x", uint32(c)) }
