package report

import (
	"math"
	"strconv"
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// detail tells one answer in full.
func (p *page) detail(answer *Answer) {
	a := answer.Assessment
	if a == nil {
		p.line(answer.verdict())
		p.paragraph("", "", answer.title()+": "+answer.Refusal)
		p.caution("")
		return
	}
	if a.Decision != nil {
		p.line(answer.verdict(), " by ", a.Decision.Rule.Title())
	} else {
		p.line(answer.verdict())
	}
	p.paragraph("", "", answer.title()+": "+sampleWords(a))
	if a.Decision != nil {
		p.line()
		p.paragraph("", "", a.Decision.Reason)
	}
	if r := a.Reassessment; r != nil {
		p.line()
		p.paragraph("", "", "Assess again within "+count(r.Months, "month")+". "+r.Reason)
	}
	p.notes(a.Notes)
	p.estimates(a)
	p.bands(a)
	p.fitCheck(a)
	p.otherRules(a)
	p.methods(a)
	p.caution(a.Caution)
}

// notes lists what the reader must know about the group.
func (p *page) notes(notes []Note) {
	if len(notes) > 0 {
		p.line()
	}
	for _, note := range notes {
		p.paragraph(severityWord(note.Severity)+": ", "  ", note.Text)
	}
}

// kindWords counts the kinds of readings that there are.
func kindWords(c reading.Counts) string {
	var parts []string
	for _, kind := range [...]struct {
		count int
		words string
	}{
		{c.Detected, "with a value"}, {c.Below, "below a reporting limit"}, {c.Above, "above the range"}, {c.Between, "between bounds"},
	} {
		if kind.count > 0 {
			parts = append(parts, strconv.Itoa(kind.count)+" "+kind.words)
		}
	}
	return strings.Join(parts, ", ")
}

// sampleWords says what was read and the limit.
func sampleWords(a *Assessment) string {
	words := count(a.Sample.Readings, "reading")
	if a.Sample.Censored() > 0 {
		words += " (" + kindWords(a.Sample) + ")"
	}
	switch {
	case a.Sample.Detected > 0 && a.Sample.Minimum == a.Sample.Maximum:
		words += ", " + withUnit(reading.Stated(a.Sample.Minimum), a.Unit)
	case a.Sample.Detected > 0:
		words += ", " + reading.Stated(a.Sample.Minimum) + " to " + withUnit(reading.Stated(a.Sample.Maximum), a.Unit)
	}
	if a.Limit == nil {
		return words + "; no limit stated."
	}
	return words + "; limit " + withUnit(reading.Stated(a.Limit.Value), a.Unit) + "."
}

// estimates writes every number with its limits.
func (p *page) estimates(a *Assessment) {
	if a.Fit == nil || a.Percentile == nil {
		return
	}
	unit := plain(string(a.Unit))
	row := func(name string, b limit.Bounds, unit string) []string {
		return []string{
			name, reading.Figures(b.Estimate, figures), reading.Figures(b.Lower, figures), reading.Figures(b.Upper, figures), unit,
		}
	}
	rows := [][]string{
		row("geometric mean", a.Fit.GeometricMean, unit),
		row("geometric standard deviation", a.Fit.GeometricStandardDeviation, ""),
		row("arithmetic mean", a.Fit.ArithmeticMean, unit),
		row(Ordinal(a.Percentile.Fraction)+" percentile", a.Percentile.Bounds, unit),
	}
	if e := a.Exceedance; e != nil {
		rows = append(rows, []string{"exposures above the limit", Percent(e.Estimate), Percent(e.Lower), Percent(e.Upper), ""})
	}
	p.heading("Estimates, with the lower and upper end of each at " + Level(a.Percentile.Confidence) + " % confidence, one-sided")
	p.line()
	p.grid([]column{
		{}, {head: "estimate", right: true}, {head: "at least", right: true}, {head: "at most", right: true}, {head: "unit"},
	}, rows)
}

// bands writes where the percentile lies.
func (p *page) bands(a *Assessment) {
	if a.Posterior == nil || a.Percentile == nil || a.Limit == nil {
		return
	}
	rows := make([][]string, 0, len(a.Posterior.Bands))
	for _, b := range a.Posterior.Bands {
		lower, upper := reading.Stated(b.Lower*a.Limit.Value), withUnit(reading.Stated(b.Upper*a.Limit.Value), a.Unit)
		part, where := Level(b.Lower)+" to "+Level(b.Upper)+" %", lower+" to "+upper
		switch {
		case b.Lower == 0:
			part, where = "up to "+Level(b.Upper)+" %", "up to "+upper
		case math.IsInf(b.Upper, 1):
			part, where = "above "+Level(b.Lower)+" %", "above "+withUnit(lower, a.Unit)
		}
		rows = append(rows, []string{part, where, Percent(b.Probability)})
	}
	p.heading("Where the " + Ordinal(a.Percentile.Fraction) + " percentile lies")
	p.line()
	p.grid([]column{{head: "of the limit"}, {head: "that is"}, {head: "probability", right: true}}, rows)
	p.paragraph("", "", "Prior: "+a.Posterior.Prior+".")
}

// fitCheck writes whether the readings look lognormal.
func (p *page) fitCheck(a *Assessment) {
	c := a.FitCheck
	if c == nil || math.IsNaN(c.PValue) {
		return
	}
	p.heading("Do the readings look lognormal?")
	p.line()
	p.paragraph("", "", c.Test+": statistic "+reading.Figures(c.Statistic, figures)+", p-value "+reading.Figures(c.PValue, figures)+
		". A small p-value, below 0.05, speaks against it.")
}

// otherRules writes the outcome of every rule but the one asked for, and under them why the rest could not be applied.
func (p *page) otherRules(a *Assessment) {
	var applied, rest []*decision.Decision
	for i := range a.Decisions {
		d := &a.Decisions[i]
		switch {
		case a.Decision != nil && d.Rule == a.Decision.Rule:
		case d.Outcome == decision.NoOutcome:
			rest = append(rest, d)
		default:
			applied = append(applied, d)
		}
	}
	if len(applied) > 0 {
		p.heading("By other rules")
	}
	for _, d := range applied {
		p.line()
		p.line(verdictOf(d.Outcome), " by ", d.Rule.Title())
		p.paragraph("  ", "  ", d.Reason)
	}
	if len(rest) > 0 {
		p.heading("Rules not applied")
		p.line()
	}
	for _, d := range rest {
		p.paragraph("", "  ", d.Rule.Title()+": "+d.Reason)
	}
}

// methods writes where each formula comes from.
func (p *page) methods(a *Assessment) {
	if len(a.Methods) == 0 && len(a.Decisions) == 0 {
		return
	}
	p.heading("Sources")
	p.line()
	for _, d := range a.Decisions {
		if d.Outcome == decision.NoOutcome && (a.Decision == nil || d.Rule != a.Decision.Rule) {
			continue
		}
		p.paragraph("", "  ", "Rule "+strings.TrimPrefix(d.Rule.Title()+": "+d.Source, "EN 689:2018: ")+".")
	}
	if r := a.Reassessment; r != nil {
		p.paragraph("", "  ", "Next assessment: "+r.Source+".")
	}
	if r := a.LimitReduction; r != nil {
		p.paragraph("", "  ", "Reduction of the limit: "+r.Source+".")
	}
	p.sources(a.Methods)
}

// sources lists which formula and which publication gave each number.
func (p *page) sources(methods []Method) {
	for _, m := range methods {
		p.paragraph("", "  ", spelled(m.Quantity)+": "+m.Method+". "+m.Source+".")
	}
}
