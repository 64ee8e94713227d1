// Package document writes a report: one page of HTML that holds all it needs, for the screen and for paper. It has no script and
// asks no other host for anything. The same groups give the same bytes.
//
// The fixed words stand in words_LANGUAGE.go, one file a language. What the stages say of a group (reasons, notes, methods) is
// English whatever the language of the report, and is marked so.
package document

import (
	"bytes"
	"embed"
	"html/template"
	"io"
	"sync"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Head is what a report says of itself.
type Head struct {
	// Title may be empty for the usual one.
	Title string
	// Language is one of Languages; empty is English.
	Language string
	// Version is that of the program, Digest that of the input, in hexadecimal.
	Version, Digest string
}

// Group is one group of a report.
type Group struct {
	// Request is what was asked about.
	Request reading.Group
	Judging Judging
	// Assessment is nil when the group could not be assessed; its Curves are drawn.
	Assessment *report.Assessment
	// Refusal is a plain sentence; read only without an assessment.
	Refusal string
}

// Judging is how a group was to be judged, as far as its assessment does not say it.
type Judging struct {
	// Percentile is the fraction of the percentile asked about.
	Percentile float64
	// RelativeError is the standard deviation of the measurement error as a fraction of the true value; 0 for none.
	RelativeError float64
	// Calibrated asks for calibrated limits, AcceptDependent for a fit of readings that depend on each other.
	Calibrated, AcceptDependent bool
}

// Section is the part of a report about one group, ready to be put among the others.
type Section struct {
	row            row
	caution        string
	methods, rules []report.Method
	first, last    time.Time
	body           []byte
}

// CheckLanguage returns a fault that names the field when no report can be written in a language.
func CheckLanguage(language string) error {
	if _, known := wordsOf(language); !known {
		return fault.Invalid("language", "%q is not a language of reports; accepted is en", language)
	}
	return nil
}

// NewSection writes the part about group number, counted from 1. The error is a fault about the language.
func NewSection(language string, number int, g *Group) (*Section, error) {
	w, known := wordsOf(language)
	if !known {
		return nil, CheckLanguage(language)
	}
	v := newGroupView(w, number, g)
	var body bytes.Buffer
	if err := templates().ExecuteTemplate(&body, "group.html", v); err != nil {
		return nil, fault.Wrap(err, "a part of the report could not be written")
	}
	s := &Section{row: v.Row, body: bytes.Map(tame, body.Bytes())}
	if a := g.Assessment; a != nil {
		s.caution, s.methods, s.rules = a.Caution, methods(w, a), ruleSources(a)
	}
	s.first, s.last = span(g.Request.Readings)
	return s, nil
}

// span is the first and the last start, zero when none is known.
func span(readings []reading.Reading) (first, last time.Time) {
	for i := range readings {
		start := readings[i].Start
		if start.IsZero() {
			continue
		}
		if first.IsZero() || start.Before(first) {
			first = start
		}
		if start.After(last) {
			last = start
		}
	}
	return first, last
}

// Write writes a report of sections in their order. The error is that of w, or a fault about the language.
func Write(w io.Writer, h Head, sections []*Section) error {
	words, known := wordsOf(h.Language)
	if !known {
		return CheckLanguage(h.Language)
	}
	return templates().ExecuteTemplate(w, "page.html", newPageView(words, h, sections))
}

//go:embed page.html group.html parts.html style.css
var files embed.FS

// templates are read when the first report is written.
var templates = sync.OnceValue(func() *template.Template {
	t := template.Must(template.New("").ParseFS(files, "page.html", "group.html", "parts.html"))
	style, err := files.ReadFile("style.css")
	if err != nil {
		panic(err) // It is part of the program.
	}
	return template.Must(t.New("style.css").Parse(string(style)))
})
