package document

import (
	"html/template"
	"slices"
	"strconv"
	"time"

	"example.com/tailbound/service/report"
)

// pageView is what page.html takes.
type pageView struct {
	W               *words
	Title, Lead     string
	Tally           []tallied
	Rows            []row
	PercentileHead  string
	SummaryNote     string
	Sections        []template.HTML
	Rules, Methods  []used
	Cautions        []string
	Version, Digest string
	Foreign         string
}

// tallied is how many groups have an outcome.
type tallied struct {
	verdict

	Count int
}

func newPageView(w *words, h Head, sections []*Section) *pageView {
	v := &pageView{
		W: w, Title: plain(h.Title), Lead: lead(w, sections), Version: plain(h.Version), Digest: plain(h.Digest), Foreign: w.foreign(),
	}
	if v.Title == "" {
		v.Title = w.Title
	}
	for _, s := range sections {
		v.Rows = append(v.Rows, s.row)
		v.Sections = append(v.Sections, template.HTML(s.body)) //nolint:gosec // Escaped by the template that wrote it.
		v.Cautions = appendNew(v.Cautions, s.caution)
	}
	if len(v.Cautions) == 0 {
		v.Cautions = []string{report.Caution}
	}
	v.Rules = gather(w, sections, func(s *Section) []report.Method { return s.rules })
	v.Methods = gather(w, sections, func(s *Section) []report.Method { return s.methods })
	v.Tally = tally(w, v.Rows)
	v.PercentileHead, v.SummaryNote = heads(w, v.Rows)
	return v
}

func appendNew(list []string, text string) []string {
	if text == "" || slices.Contains(list, text) {
		return list
	}
	return append(list, text)
}

// lead says how many groups there are and when their readings were taken. It knows no other date.
func lead(w *words, sections []*Section) string {
	text := fill(w.LeadMany, "n", strconv.Itoa(len(sections)))
	if len(sections) == 1 {
		text = w.LeadOne
	}
	var first, last time.Time
	for _, s := range sections {
		if s.first.IsZero() {
			continue
		}
		if first.IsZero() || s.first.Before(first) {
			first = s.first
		}
		if s.last.After(last) {
			last = s.last
		}
	}
	if first.IsZero() {
		return text
	}
	return text + " " + fill(w.LeadDates, "from", first.UTC().Format(time.DateOnly), "to", last.UTC().Format(time.DateOnly))
}

// tally counts outcomes, in a fixed order.
func tally(w *words, rows []row) []tallied {
	var out []tallied
	for _, text := range [...]string{w.NotCompliant, w.Undecided, w.Compliant, w.NotJudged, w.Refused} {
		t := tallied{}
		for i := range rows {
			if rows[i].Text == text {
				t.verdict = rows[i].verdict
				t.Count++
			}
		}
		if t.Count > 0 {
			out = append(out, t)
		}
	}
	return out
}

// heads are the head of the column of percentiles and the note under the table. They name the percentile and the confidence
// where all groups share them.
func heads(w *words, rows []row) (head, note string) {
	var shared *row
	for i := range rows {
		r := &rows[i]
		switch {
		case r.fraction == 0:
		case shared == nil:
			shared = r
		case r.fraction != shared.fraction || r.confidence != shared.confidence:
			return w.Percentile, w.SummaryNote
		}
	}
	if shared == nil {
		return w.Percentile, ""
	}
	name := w.Ordinal(shared.fraction)
	return fill(w.PercentileRow, "percentile", name),
		fill(w.SummaryLimits, "percentile", name, "confidence", report.Level(shared.confidence))
}

// foreign is the language of what the stages say, where it is not that of the report.
func (w *words) foreign() string {
	if w.Language == stageLanguage {
		return ""
	}
	return stageLanguage
}

// stageLanguage is the language in which the stages write reasons, notes and methods.
const stageLanguage = "en"
