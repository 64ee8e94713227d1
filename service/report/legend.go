package report

import (
	"slices"
	"strings"

	"example.com/tailbound/service/decision"
)

// legend says how to read the table.
func (p *page) legend(s shared) {
	text := "GM: geometric mean. GSD: geometric standard deviation. "
	switch {
	case s.mixed:
		text += "The groups were asked for different percentiles or confidences. "
	case s.fraction != 0:
		text += "At most: the upper end, with " + Level(s.confidence) + " % confidence, of the " + Ordinal(s.fraction) + " percentile of exposure " +
			"and of the share of exposures above the limit. "
	}
	if s.censored {
		text += "In brackets: how many of the n readings have a value. "
	}
	if s.blank {
		text += "A dash: not known. "
	}
	p.paragraph("", "", text)
	if s.compliantAbove {
		p.paragraph("", "", "A group can be compliant although that upper end is above its limit: "+s.rule.Title()+
			" decides by its own test, given below, and not by the "+Level(s.confidence)+" % of the table.")
	}
}

// reasons tells of each group that is not plainly compliant how its outcome came about.
func (p *page) reasons(answers []Answer) {
	headed := false
	for i := range answers {
		a := &answers[i]
		reason := a.reason()
		if reason == "" {
			continue
		}
		if !headed {
			p.heading("Reasons")
			headed = true
		}
		p.line()
		p.line(a.verdict(), ": ", a.title())
		p.paragraph("  ", "  ", reason)
	}
}

// reason is why a row of the table says what it says; empty when it speaks for itself.
func (a *Answer) reason() string {
	switch {
	case a.Assessment == nil:
		return a.Refusal
	case a.Assessment.Decision == nil:
		return ""
	case a.Assessment.Decision.Outcome == decision.Compliant && !compliantAbove(a.Assessment):
		return ""
	}
	return a.Assessment.Decision.Reason
}

// remarks tells each note once, with the groups that it is about; what is only good to know stays in the answer in full.
func (p *page) remarks(answers []Answer) {
	var order []Note
	about := map[Note][]string{}
	for i := range answers {
		if answers[i].Assessment == nil {
			continue
		}
		for _, note := range answers[i].Assessment.Notes {
			if note.Severity < Careful {
				continue
			}
			if about[note] == nil {
				order = append(order, note)
			}
			about[note] = append(about[note], answers[i].title())
		}
	}
	if len(order) == 0 {
		return
	}
	slices.SortStableFunc(order, func(a, b Note) int { return int(b.Severity) - int(a.Severity) })
	p.heading("Notes")
	for _, note := range order {
		p.line()
		p.paragraph(severityWord(note.Severity)+": ", "  ", note.Text)
		p.paragraph("  Groups: ", "    ", strings.Join(about[note], "; ")+".")
	}
}
