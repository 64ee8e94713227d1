package figure

import (
	"strings"

	"example.com/tailbound/service/reading"
)

// A narrow sheet is as wide as a telephone held upright and as half a page of paper: printed so, its letters stay over 7.5 points.
// Its labels stand under the panel, each behind a piece of what it names.
const (
	narrowWidth = 390
	narrowPanel = 160
	// narrowSample is the room for the piece of what a label names.
	narrowSample = 27
)

// shaped makes the sheet a narrow one where the format asks for it, with room for rows of labels.
func (s *sheet) shaped(f Format, rows int) *sheet {
	if f == NarrowSVG {
		s.below = float64(rows)*lineHeight + 10
		s.width, s.height = narrowWidth, axisTop+narrowPanel+axisBottom+s.below
	}
	return s
}

// labelRows is how many rows the labels of a figure of such readings take: two columns, or one beside the key.
func labelRows(c reading.Counts) int {
	if c.Censored() > 0 {
		return 6
	}
	return 3
}

// narrow says that labels stand under the panel.
func (s *sheet) narrow() bool { return s.below > 0 }

// heading of the sheet; a narrow one stands beside the name of its group and has no room for it.
func (s *sheet) headline() string {
	if !s.narrow() {
		return s.title
	}
	what, _, _ := strings.Cut(s.title, ": ")
	return what
}

// beneath writes labels under the panel in two columns; where a key has the right one, in one.
func (p *panel) beneath(tags []tag) {
	width := p.width/2 - margin
	if len(tags) == 1 && p.floor == 0 {
		width = p.width - 2*margin
	}
	total := 0
	for i := range tags {
		tags[i].lines = broken(tags[i].lines, width-tags[i].indent())
		total += len(tags[i].lines)
	}
	most := (total + 1) / 2
	if p.floor > 0 {
		most = total
	}
	x, top, row := margin, p.below-4, 0
	for _, t := range tags {
		if row > 0 && row+len(t.lines) > most && x < p.width/2 {
			x, row = p.width/2+margin/2, 0
		}
		if !t.loose {
			p.sample(t, x, top-(float64(row)+0.5)*lineHeight)
		}
		for i, text := range t.lines {
			look := t.look
			if i > 0 {
				look = quietType
			}
			row++
			p.words(x+t.indent(), top-float64(row)*lineHeight+4, look.fitting(clean(text), width-t.indent()), look)
		}
	}
}

// indent is the room before a label under the panel.
func (t *tag) indent() float64 {
	if t.loose {
		return 0
	}
	return narrowSample
}

// sample draws a piece of what a label names.
func (p *panel) sample(t tag, x, y float64) {
	l := fitLine
	switch {
	case t.sample.width > 0:
		l = t.sample
	case t.look == limitType:
		l = limitLine
	}
	p.segments(l, [4]float64{x, y, x + narrowSample - 6, y})
	if t.look == deepType {
		p.diamond(x+(narrowSample-6)/2, y)
	}
}
