package report

import (
	"io"
	"math"
	"strconv"
	"strings"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/variance"
)

// Partition is the answer about the variance of one group between and within its zones or subjects.
type Partition struct {
	Name  string
	Agent string
	Unit  reading.Unit
	// Limit is in Unit; nil when none was stated.
	Limit *reading.Limit
	// By is what the readings were divided by: "zone" or "subject".
	By string
	variance.Result
	Notes   []Note
	Methods []Method
	Caution string
}

// PartitionTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func PartitionTable(w io.Writer, a *Partition, width int) error {
	p := newPage(width)
	p.partition(a)
	return p.flush(w)
}

func (p *page) partition(a *Partition) {
	p.line(poolingWords(a))
	p.paragraph("", "", a.sampleWords())
	p.line()
	for _, reason := range a.Pooling.Reasons {
		p.paragraph("", "", reason)
	}
	p.heading("Spread of ln reading, with the lower and upper end of each, one-sided")
	p.line()
	p.components(a)
	p.heading("Each " + a.By + ", the highest first")
	p.line()
	p.zones(a)
	p.paragraph("", "", "Drawn in: the geometric mean drawn towards that of the group, the more so the fewer the readings. Apart: how far the "+
		a.By+" lies from what the others foretell, as a normal score; an asterisk says that it does not belong.")
	if s := a.Split; s != nil {
		p.heading("A split to consider")
		p.line()
		p.paragraph("", "", s.Reason)
		for _, g := range s.Groups {
			p.paragraph("- ", "  ", strings.Join(g.Zones, ", ")+": "+count(g.Readings, "reading")+", geometric mean "+
				withUnit(reading.Figures(g.GeometricMean, figures), a.Unit))
		}
	}
	p.notes(a.Notes)
	p.heading("Sources")
	p.line()
	p.sources(a.Methods)
	p.caution(a.Caution)
}

func poolingWords(a *Partition) string {
	switch {
	case a.Pooling.Pool && a.Pooling.Settled:
		return "The " + a.By + "s may be pooled"
	case a.Pooling.Pool:
		return "The " + a.By + "s may be pooled for want of evidence against it"
	default:
		return "The " + a.By + "s should NOT be pooled"
	}
}

func (a *Partition) sampleWords() string {
	words := a.Agent
	if a.Name != "" {
		words = a.Name + ", " + a.Agent
	}
	words += ": " + count(a.Readings, "reading") + " from " + count(len(a.Zones), a.By)
	if a.Censored > 0 {
		words += ", " + strconv.Itoa(a.Censored) + " without a value"
	}
	if a.Limit != nil {
		words += "; limit " + withUnit(reading.Stated(a.Limit.Value), a.Limit.Unit)
	}
	return words + "."
}

// components writes the spread.
func (p *page) components(a *Partition) {
	columns := []column{{}, {head: "estimate", right: true}, {head: "at least", right: true}, {head: "at most", right: true}}
	row := func(name string, b variance.Bounds) []string {
		return []string{name, reading.Figures(b.Estimate, figures), reading.Figures(b.Lower, figures), reading.Figures(b.Upper, figures)}
	}
	rows := [][]string{
		row("between "+a.By+"s, standard deviation", a.Between),
		row("within "+a.By+"s, standard deviation", a.Within),
		row("share of the variance between", a.Share),
		row("97.5th to 2.5th percentile of the means", a.Ratio),
	}
	if a.Chance != nil {
		rows = append(rows, row("chance of a "+a.By+" with its own percentile above the limit", *a.Chance))
	}
	if !math.IsNaN(a.Test.PValue) {
		rows = append(rows, []string{"F test of no difference, p-value", reading.Figures(a.Test.PValue, figures), "", ""})
	}
	p.grid(columns, rows)
}

func (p *page) zones(a *Partition) {
	columns := []column{
		{head: a.By, shrinks: true},
		{head: "n", right: true},
		{head: "GM", right: true},
		{head: "GM drawn in", right: true},
		{head: "own percentile", right: true},
		{head: "apart", right: true},
	}
	rows := make([][]string, len(a.Zones))
	for i, z := range a.Zones {
		apart := reading.Figures(z.Deviance, 2)
		if z.Outside {
			apart = "* " + apart
		}
		rows[i] = []string{
			z.Name, strconv.Itoa(z.Readings), reading.Figures(z.GeometricMean, figures), reading.Figures(z.Shrunken, figures),
			reading.Figures(z.Percentile, figures), apart,
		}
	}
	p.grid(columns, rows)
}
