package report

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// Comparison is the answer about campaigns side by side.
type Comparison struct {
	Name, Agent string
	// Percentile and Confidence are fractions; Reduction is the one asked about, 0 when none was.
	Percentile, Confidence, Reduction float64
	// Campaigns are the assessments, earliest first.
	Campaigns []*Assessment
	Pairs     []comparison.Pair
	// Trend is nil with two campaigns.
	Trend   *comparison.Trend
	Notes   []Note
	Methods []Method
	Caution string
}

// ComparisonTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func ComparisonTable(w io.Writer, c *Comparison, width int) error {
	p := newPage(width)
	p.comparison(c)
	return p.flush(w)
}

func (p *page) comparison(c *Comparison) {
	p.paragraph("", "", c.title())
	for i := range c.Pairs {
		p.line()
		p.paragraph("", "", c.Pairs[i].Conclusion)
	}
	p.heading("Campaigns")
	p.line()
	p.campaigns(c)
	for i := range c.Pairs {
		p.pair(c, &c.Pairs[i])
	}
	if c.Trend != nil {
		p.heading("Trend")
		p.line()
		p.paragraph("", "", c.trendWords())
	}
	p.notes(c.Notes)
	p.heading("Sources")
	p.line()
	p.sources(c.Methods)
	p.caution(c.Caution)
}

func (c *Comparison) title() string {
	words := c.Agent
	if c.Name != "" {
		words = c.Name + ", " + words
	}
	if words != "" {
		words += ": "
	}
	words += count(len(c.Campaigns), "campaign")
	if a := c.Campaigns[0]; a.Limit != nil {
		words += "; limit " + withUnit(reading.Stated(a.Limit.Value), a.Limit.Unit)
	}
	return words + ". Limits are one-sided at " + Level(c.Confidence) + " %."
}

// campaigns writes a row for each campaign.
func (p *page) campaigns(c *Comparison) {
	columns := []column{
		{head: "campaign", shrinks: true},
		{head: "n (with a value)", right: true},
		{head: "GM", right: true},
		{head: "GSD", right: true},
		{head: Ordinal(c.Percentile) + " percentile", right: true},
		{head: "at least", right: true},
		{head: "at most", right: true},
		{head: "outcome"},
	}
	rows := make([][]string, len(c.Campaigns))
	for i, a := range c.Campaigns {
		outcome := ""
		if a.Decision != nil {
			outcome = verdictOf(a.Decision.Outcome)
		}
		rows[i] = []string{
			plain(a.Name), fmt.Sprintf("%d (%d)", a.Sample.Readings, a.Sample.Detected),
			reading.Figures(a.fit().GeometricMean.Estimate, figures), reading.Figures(a.fit().GeometricStandardDeviation.Estimate, figures),
			reading.Figures(a.percentile().Estimate, figures), reading.Figures(a.percentile().Lower, figures),
			reading.Figures(a.percentile().Upper, figures), outcome,
		}
	}
	p.grid(columns, rows)
}

// pair writes the numbers of one pair.
func (p *page) pair(c *Comparison, v *comparison.Pair) {
	p.heading(v.To + " over " + v.From)
	p.line()
	columns := []column{{}, {head: "estimate", right: true}, {head: "at least", right: true}, {head: "at most", right: true}}
	row := func(name string, b limit.Bounds) []string {
		return []string{name, reading.Figures(b.Estimate, figures), reading.Figures(b.Lower, figures), reading.Figures(b.Upper, figures)}
	}
	one := func(name string, x float64) []string { return []string{name, reading.Figures(x, figures), "", ""} }
	rows := [][]string{
		row("ratio of the "+Ordinal(c.Percentile)+" percentiles", v.Percentile),
		row("ratio of the geometric means", v.GeometricMean),
	}
	if v.Common != nil {
		rows = append(rows, row("the same, each with its own spread", v.Separate))
	}
	rows = append(rows, row("ratio of the arithmetic means", v.ArithmeticMean), row("ratio of the standard deviations of ln", v.LogSpread))
	if v.Exceedance != nil {
		rows = append(rows, row("difference of the fractions above the limit", *v.Exceedance))
	}
	rows = append(rows, one("chance that the percentile is lower", v.Lower))
	if c.Reduction > 0 {
		rows = append(rows, one("chance that it is lower by "+Level(c.Reduction)+" %", v.LowerByReduction))
	}
	rows = append(rows, one("reduction that can be claimed", v.Claim))
	tests := []comparison.Test{v.Means, v.Spreads, v.Equal, v.Wilcoxon, v.LogRank}
	if v.Within != nil {
		tests = append(tests, v.Within.Test)
	}
	for _, t := range tests {
		if !math.IsNaN(t.PValue) {
			rows = append(rows, one(t.Name+", p", t.PValue))
		}
	}
	if len(c.Pairs) > 1 {
		rows = append(rows, one("geometric means, p for "+strconv.Itoa(len(c.Pairs))+" pairs (Holm)", v.PAdjusted))
	}
	if v.Within != nil {
		rows = append(rows, row("within zones, ratio of the geometric means", v.Within.Ratio))
		for _, z := range v.Within.Zones {
			name := "  zone " + plain(z.Zone)
			if z.OtherWay {
				name += " (the other way)"
			}
			rows = append(rows, row(name, z.Ratio))
		}
	}
	p.grid(columns, rows)
}

func (c *Comparison) trendWords() string {
	step := "campaign"
	if c.Trend.PerYear {
		step = "year"
	}
	r := c.Trend.Ratio
	return fmt.Sprintf("From one %s to the next the geometric mean changes by a factor of %s (at least %s, at most %s; %s, p = %s).", step,
		reading.Figures(r.Estimate, figures), reading.Figures(r.Lower, figures), reading.Figures(r.Upper, figures), c.Trend.Test.Name,
		reading.Figures(c.Trend.Test.PValue, figures))
}
