package report

import (
	"bytes"
	"io"
	"strings"
)

// DefaultWidth is the width of a table for people when nothing is known of where it goes, in characters.
const DefaultWidth = 100

// narrowest is the width under which a table is not squeezed.
const narrowest = 60

// Table writes answers for people, in lines of about width characters (0 means DefaultWidth). One answer is told in full;
// several make a table of one row a group, the outcome first, and under it what has to be known about each group that is
// not plainly compliant. Nothing is written in color. The error is that of w.
func Table(w io.Writer, answers []Answer, width int) error {
	p := newPage(width)
	if len(answers) == 1 {
		p.detail(&answers[0])
	} else {
		p.summary(answers)
	}
	return p.flush(w)
}

// page is a text for people under construction.
type page struct {
	bytes.Buffer
	width int
}

// newPage opens a page of about width characters.
func newPage(width int) *page {
	if width == 0 {
		width = DefaultWidth
	}
	return &page{width: max(width, narrowest)}
}

// flush hands the page on. The error is that of w.
func (p *page) flush(w io.Writer) error {
	_, err := w.Write(p.Bytes())
	return err
}

// line writes the parts as one line.
func (p *page) line(parts ...string) {
	p.WriteString(strings.TrimRight(strings.Join(parts, ""), " ") + "\n")
}

// paragraph writes a text wrapped to the width, its first line after first and the others after rest.
func (p *page) paragraph(first, rest, text string) {
	p.WriteString(Wrap(text, first, rest, p.width))
}

// heading opens a part of the page.
func (p *page) heading(text string) {
	p.line()
	p.line(text)
}

// caution closes the page.
func (p *page) caution(text string) {
	if text == "" {
		text = Caution
	}
	p.line()
	p.paragraph("", "", text)
}

func severityWord(s Severity) string {
	switch s {
	case Warning:
		return "Warning"
	case Careful:
		return "Caution"
	default:
		return "Note"
	}
}
