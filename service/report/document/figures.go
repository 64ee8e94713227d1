package document

import (
	"bytes"
	"html/template"
	"io"
	"regexp"

	"example.com/tailbound/service/report/figure"
)

// figureView is one drawing, to be put into the page as it is.
type figureView struct{ SVG template.HTML }

// drawn are the figures of the group with an anchor; one for which the answer holds nothing is left out.
func drawn(anchor string, g *Group) []figureView {
	a := g.Assessment
	var out []figureView
	for _, f := range [...]struct {
		id   string
		draw func(io.Writer) error
	}{
		{"p", func(w io.Writer) error { return figure.Probability(w, a, figure.NarrowSVG) }},
		{"e", func(w io.Writer) error { return figure.Exceedance(w, a, figure.NarrowSVG) }},
		{"d", func(w io.Writer) error { return figure.Posterior(w, a, figure.NarrowSVG) }},
		{"t", func(w io.Writer) error { return figure.Time(w, a, g.Request.Readings, figure.NarrowSVG) }},
	} {
		if f.id == "t" && len(g.Request.Readings) < 2 {
			continue // One point says nothing of time.
		}
		var svg bytes.Buffer
		if f.draw(&svg) != nil {
			continue
		}
		out = append(out, figureView{inline(svg.Bytes(), anchor+f.id)})
	}
	return out
}

// inline takes a drawing for a place inside a page: without the declaration of a file of its own, and with ids that no other
// drawing of the page has.
func inline(svg []byte, prefix string) template.HTML {
	if start := bytes.Index(svg, []byte("<svg")); start > 0 {
		svg = svg[start:]
	}
	svg = named.ReplaceAll(bytes.TrimSpace(svg), []byte("${1}"+prefix+"-${2}"))
	return template.HTML(svg) //nolint:gosec // Drawn by package figure, which escapes what it writes.
}

// named is what gives or refers to an id inside a drawing.
var named = regexp.MustCompile(`( id="|url\(#|href="#|aria-labelledby="|aria-describedby=")([^")]+)`)
