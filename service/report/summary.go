package report

import (
	"fmt"
	"strconv"
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// summary writes many groups: the tally, the table, how to read it, what to know about single groups, the caution.
func (p *page) summary(answers []Answer) {
	if len(answers) == 0 {
		p.line("No groups.")
		return
	}
	s := survey(answers)
	p.paragraph("", "", s.tally())
	p.line()
	p.grid(s.rows(answers))
	p.line()
	p.legend(s)
	p.reasons(answers)
	p.remarks(answers)
	p.caution("")
}

// shared is what the rows of a summary have in common.
type shared struct {
	groups int
	// verdicts counts the outcomes, in the order of verdictOrder.
	verdicts map[string]int
	rule     decision.Rule
	// fraction and confidence are those of the first percentile; 0 without one.
	fraction, confidence float64
	// mixed says that some row has another fraction or confidence.
	mixed           bool
	names, agents   bool
	censored, blank bool
	compliantAbove  bool
}

// survey collects what the rows have in common.
func survey(answers []Answer) shared {
	s := shared{groups: len(answers), verdicts: map[string]int{}}
	for i := range answers {
		a := &answers[i]
		s.verdicts[a.verdict()]++
		s.names = s.names || a.Name != ""
		s.agents = s.agents || a.Agent != ""
		if a.Assessment == nil {
			s.blank = true
			continue
		}
		s.add(a.Assessment)
	}
	return s
}

func (s *shared) add(a *Assessment) {
	s.censored = s.censored || a.Sample.Censored() > 0
	s.blank = s.blank || a.Percentile == nil || a.Limit == nil
	if a.Decision != nil && s.rule == 0 {
		s.rule = a.Decision.Rule
	}
	if a.Percentile == nil {
		return
	}
	if s.fraction == 0 {
		s.fraction, s.confidence = a.Percentile.Fraction, a.Percentile.Confidence
	}
	s.mixed = s.mixed || a.Percentile.Fraction != s.fraction || a.Percentile.Confidence != s.confidence
	s.compliantAbove = s.compliantAbove || compliantAbove(a)
}

// compliantAbove says whether a group complies although the upper limit shown is above the limit, which a rule with a
// confidence of its own allows.
func compliantAbove(a *Assessment) bool {
	return a.Decision != nil && a.Decision.Outcome == decision.Compliant && a.Percentile != nil && a.Limit != nil &&
		!(a.Percentile.Upper < a.Limit.Value)
}

// tally says how many groups have which outcome.
func (s *shared) tally() string {
	var parts []string
	for _, verdict := range [...]string{
		verdictOf(decision.Compliant), verdictOf(decision.NotCompliant), verdictOf(decision.Undecided), verdictOf(decision.NoOutcome), "REFUSED",
	} {
		if n := s.verdicts[verdict]; n > 0 {
			parts = append(parts, strconv.Itoa(n)+" "+verdict)
		}
	}
	by := ""
	if s.rule != 0 {
		by = ", judged by " + s.rule.Title()
	}
	return count(s.groups, "group") + by + ": " + strings.Join(parts, ", ") + "."
}

// field is a column of the summary and what stands in it.
type field struct {
	column
	cell func(*Answer) string
}

// rows fills the cells of the summary.
func (s *shared) rows(answers []Answer) ([]column, [][]string) {
	fields := s.fields()
	columns := make([]column, len(fields))
	for i, f := range fields {
		columns[i] = f.column
	}
	rows := make([][]string, len(answers))
	for i := range answers {
		rows[i] = make([]string, len(fields))
		for j, f := range fields {
			rows[i][j] = f.cell(&answers[i])
		}
	}
	return columns, rows
}

// fields lists the columns that the answers need.
func (s *shared) fields() []field {
	fields := []field{{column{head: "outcome"}, (*Answer).verdict}}
	if s.names {
		fields = append(fields, field{column{head: "group", shrinks: true}, func(a *Answer) string { return plain(a.Name) }})
	}
	if s.agents {
		fields = append(fields, field{column{head: "agent", shrinks: true}, func(a *Answer) string { return plain(a.Agent) }})
	}
	n, percentile := "n", "percentile"
	if s.censored {
		n = "n\n(with a\nvalue)"
	}
	if s.fraction != 0 && !s.mixed {
		percentile = Ordinal(s.fraction) + "\nper-\ncentile"
	}
	return append(fields,
		field{column{head: n, right: true}, assessed(s.size)},
		field{column{head: "unit"}, assessed(func(a *Assessment) string { return plain(string(a.Unit)) })},
		number("GM", func(a *Assessment) float64 { return a.fit().GeometricMean.Estimate }),
		number("GSD", func(a *Assessment) float64 { return a.fit().GeometricStandardDeviation.Estimate }),
		number(percentile, func(a *Assessment) float64 { return a.percentile().Estimate }),
		number("at\nmost", func(a *Assessment) float64 { return a.percentile().Upper }),
		field{column{head: "limit", right: true}, assessed(func(a *Assessment) string { return reading.Stated(a.limit()) })},
		field{column{head: "% above\nlimit,\nat most", right: true}, assessed(func(a *Assessment) string { return hundredths(a.exceedance().Upper) })},
	)
}

// number is a column of numbers.
func number(head string, value func(*Assessment) float64) field {
	return field{column{head: head, right: true}, assessed(func(a *Assessment) string { return reading.Figures(value(a), figures) })}
}

// assessed leaves the cell of a refused group empty.
func assessed(cell func(*Assessment) string) func(*Answer) string {
	return func(a *Answer) string {
		if a.Assessment == nil {
			return ""
		}
		return cell(a.Assessment)
	}
}

func (s *shared) size(a *Assessment) string {
	if s.censored {
		return fmt.Sprintf("%d (%d)", a.Sample.Readings, a.Sample.Detected)
	}
	return strconv.Itoa(a.Sample.Readings)
}
