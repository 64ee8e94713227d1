package document

import (
	"strconv"
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// groupView is what group.html takes.
type groupView struct {
	W       *words
	Foreign string
	Row     row
	// Refused says that there is no assessment.
	Refused   bool
	Rule      string
	Reason    string
	Reassess  string
	Notes     []noteView
	Table     *readingsView
	Sample    []string
	How       []string
	Estimates *estimatesView
	FitCheck  string
	Posterior *posteriorView
	Free      []string
	Figures   []figureView
	Decisions []decisionView
}

type noteView struct{ Mark, Word, Text string }

// decisionView is one rule. Chosen says that it is the one asked for.
type decisionView struct {
	verdict

	Rule, Arithmetic string
	Chosen           bool
}

func newGroupView(w *words, number int, g *Group) *groupView {
	v := &groupView{W: w, Foreign: w.foreign(), Row: newRow(w, number, g), Table: newReadingsView(w, g)}
	a := g.Assessment
	if a == nil {
		v.Refused, v.Reason = true, g.Refusal
		return v
	}
	v.conclude(w, a)
	v.Notes = notes(w, a.Notes)
	v.Sample, v.How = sample(w, a), judging(w, g)
	v.estimate(w, a)
	v.Free = distributionFree(w, g)
	v.Figures = drawn(v.Row.Anchor, g)
	v.Decisions = decisions(w, a)
	return v
}

// conclude is the answer by the rule asked for.
func (v *groupView) conclude(w *words, a *report.Assessment) {
	if a.Decision != nil {
		v.Rule, v.Reason = fill(w.JudgedBy, "rule", a.Decision.Rule.Title()), a.Decision.Reason
	}
	if r := a.Reassessment; r != nil {
		v.Reassess = fill(w.Reassess, "n", strconv.Itoa(r.Months)) + " " + r.Reason + " " + fill(w.SourceOf, "source", r.Source)
	}
}

func notes(w *words, notes []report.Note) []noteView {
	out := make([]noteView, len(notes))
	for i, n := range notes {
		out[i] = noteView{"note", w.Note, n.Text}
		switch n.Severity {
		case report.Warning:
			out[i].Mark, out[i].Word = "warning", w.Warning
		case report.Careful:
			out[i].Mark, out[i].Word = "caution", w.Caution
		default:
		}
	}
	return out
}

// sample says what was read.
func sample(w *words, a *report.Assessment) []string {
	c := a.Sample
	text := fill(w.SampleMany, "n", strconv.Itoa(c.Readings))
	if c.Readings == 1 {
		text = w.SampleOne
	}
	parts := []string{text}
	if c.Censored() > 0 {
		for _, kind := range [...]struct {
			count int
			words string
		}{{c.Detected, w.WithValue}, {c.Below, w.BelowLimit}, {c.Above, w.AboveRange}, {c.Between, w.BetweenBounds}} {
			if kind.count > 0 {
				parts = append(parts, fill(kind.words, "n", strconv.Itoa(kind.count)))
			}
		}
	}
	if c.Detected > 1 {
		parts = append(parts, fill(w.SampleRange, "lower", reading.Stated(c.Minimum), "upper", withUnit(reading.Stated(c.Maximum), a.Unit)))
	}
	out := []string{strings.Join(parts, ", ") + "."}
	if a.Limit != nil {
		out = append(out, fill(w.StatedLimit, "limit", withUnit(reading.Stated(a.Limit.Value), a.Unit)))
	}
	return out
}

// judging says how the group was judged.
func judging(w *words, g *Group) []string {
	a, j := g.Assessment, g.Judging
	var out []string
	if r := a.LimitReduction; r != nil {
		out = append(out, r.Reason+" "+fill(w.SourceOf, "source", r.Source))
	}
	if a.Posterior != nil {
		out = append(out, fill(w.Prior, "prior", a.Posterior.Prior))
	}
	if j.Calibrated {
		out = append(out, w.Calibrated)
	}
	if j.RelativeError > 0 {
		out = append(out, fill(w.MeasuringError, "v", report.Percent(j.RelativeError)))
	}
	if j.AcceptDependent {
		out = append(out, w.Dependent)
	}
	return out
}

// decisions lists the rule asked for first, then the others in their order.
func decisions(w *words, a *report.Assessment) []decisionView {
	var first, rest []decisionView
	for i := range a.Decisions {
		d := &a.Decisions[i]
		v := decisionView{verdict: w.verdict(d.Outcome), Rule: d.Rule.Title(), Arithmetic: d.Reason}
		if d.Outcome == decision.NoOutcome {
			v.Text = w.NotApplied
		}
		if a.Decision != nil && d.Rule == a.Decision.Rule {
			v.Chosen = true
			first = append(first, v)
			continue
		}
		rest = append(rest, v)
	}
	return append(first, rest...)
}
