package sheet

import "strings"

// A narrow sheet is as wide as a telephone held upright and as half a page of paper: printed so, its letters stay over 7.5 points.
// Its labels stand under the panel, each behind a piece of what it names.
const (
	// NarrowWidth is that of a narrow sheet.
	NarrowWidth = 390
	narrowPanel = 160
	// PieceWidth is the room for the piece of what a label under the panel names.
	PieceWidth = 27
)

// Shaped makes the sheet a narrow one where the format asks for it, with room for rows of labels.
func (s *Sheet) Shaped(f Format, rows int) *Sheet {
	if f == NarrowSVG {
		s.below = float64(rows)*LineHeight + 10
		s.Width, s.Height = NarrowWidth, AxisTop+narrowPanel+AxisBottom+s.below
	}
	return s
}

// Narrow says that labels stand under the panel.
func (s *Sheet) Narrow() bool { return s.below > 0 }

// LabelAt is the middle of a row of labels under the panel, counted from 0.
func (s *Sheet) LabelAt(row int) float64 { return s.below - 4 - (float64(row)+0.5)*LineHeight }

// headline is the title; a narrow sheet has no room for what follows its colon.
func (s *Sheet) headline() string {
	if !s.Narrow() {
		return s.Title
	}
	what, _, _ := strings.Cut(s.Title, ": ")
	return what
}

// beneath writes labels under the panel in two columns; where something else has the right one up to the floor, in one.
func (p *Panel) beneath(tags []Tag) {
	width := p.Width/2 - Margin
	if len(tags) == 1 && p.Floor == 0 {
		width = p.Width - 2*Margin
	}
	total := 0
	for i := range tags {
		tags[i].Lines = broken(tags[i].Lines, width-tags[i].indent())
		total += len(tags[i].Lines)
	}
	most := (total + 1) / 2
	if p.Floor > 0 {
		most = total
	}
	x, row := Margin, 0
	for _, t := range tags {
		if row > 0 && row+len(t.Lines) > most && x < p.Width/2 {
			x, row = p.Width/2+Margin/2, 0
		}
		if !t.Loose {
			p.piece(&t, x, p.LabelAt(row))
		}
		for i, text := range t.Lines {
			look := t.Look
			if i > 0 {
				look = quietType
			}
			p.Words(x+t.indent(), p.LabelAt(row)-3.5, look.Fitting(Clean(text), width-t.indent()), look)
			row++
		}
	}
}

// indent is the room before a label under the panel.
func (t *Tag) indent() float64 {
	if t.Loose {
		return 0
	}
	return PieceWidth
}

// piece draws a piece of what a label names.
func (p *Panel) piece(t *Tag, x, y float64) {
	l := t.Piece
	if t.Sample.Width > 0 {
		l = t.Sample
	}
	if l.Width > 0 {
		p.Segments(l, [4]float64{x, y, x + PieceWidth - 6, y})
	}
	if t.Pointed {
		p.Estimate(x+(PieceWidth-6)/2, y, Diamond)
	}
}
