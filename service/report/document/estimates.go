package document

import (
	"math"
	"strconv"

	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// estimatesView is the table of what was read from the fit.
type estimatesView struct {
	Caption string
	Rows    []estimateRow
}

type estimateRow struct{ Quantity, Estimate, Lower, Upper string }

// posteriorView is where the percentile lies.
type posteriorView struct {
	Caption, Text string
	Rows          []bandRow
}

type bandRow struct{ Part, Range, Probability string }

// estimate fills the parts that take a fit.
func (v *groupView) estimate(w *words, a *report.Assessment) {
	v.FitCheck = fitCheck(w, a.FitCheck)
	if a.Fit == nil || a.Percentile == nil {
		return
	}
	row := func(quantity string, b limit.Bounds, write func(float64) string) estimateRow {
		return estimateRow{quantity, write(b.Estimate), write(b.Lower), write(b.Upper)}
	}
	amount := func(v float64) string {
		if math.IsNaN(v) {
			return computed(v)
		}
		return withUnit(computed(v), a.Unit)
	}
	p := a.Percentile
	v.Estimates = &estimatesView{
		Caption: fill(w.EstimatesCaption, "confidence", report.Level(p.Confidence)),
		Rows: []estimateRow{
			row(w.GeometricMean, a.Fit.GeometricMean, amount),
			row(w.GeometricSpread, a.Fit.GeometricStandardDeviation, computed),
			row(w.ArithmeticMean, a.Fit.ArithmeticMean, amount),
			row(fill(w.PercentileRow, "percentile", w.Ordinal(p.Fraction)), p.Bounds, amount),
		},
	}
	if e := a.Exceedance; e != nil {
		v.Estimates.Rows = append(v.Estimates.Rows, row(w.ExceedanceRow, e.Bounds, report.Percent))
	}
	v.Posterior = posteriorOf(w, a)
}

func fitCheck(w *words, c *report.FitCheck) string {
	if c == nil || math.IsNaN(c.PValue) {
		return ""
	}
	return fill(w.FitCheckText, "test", c.Test, "statistic", computed(c.Statistic), "p", computed(c.PValue))
}

func posteriorOf(w *words, a *report.Assessment) *posteriorView {
	p := a.Posterior
	if p == nil || a.Limit == nil {
		return nil
	}
	name := w.Ordinal(a.Percentile.Fraction)
	v := &posteriorView{
		Caption: fill(w.PosteriorCaption, "percentile", name),
		Text:    fill(w.AboveText, "percentile", name, "p", report.Percent(p.PercentileAboveLimit)),
	}
	if in := p.Influence; in != nil {
		v.Text += " " + in.Text
	}
	for _, b := range p.Bands {
		v.Rows = append(v.Rows, bandRow{
			ranged(w, b, report.Level(b.Lower), report.Level(b.Upper)+"\u00a0%"),
			ranged(w, b, reading.Stated(b.Lower*a.Limit.Value), withUnit(reading.Stated(b.Upper*a.Limit.Value), a.Unit)),
			report.Percent(b.Probability),
		})
	}
	last := len(v.Rows) - 1
	if b := p.Bands[last]; math.IsInf(b.Upper, 1) {
		v.Rows[last].Part = fill(w.Above, "v", report.Level(b.Lower)+"\u00a0%")
		v.Rows[last].Range = fill(w.Above, "v", withUnit(reading.Stated(b.Lower*a.Limit.Value), a.Unit))
	}
	return v
}

// ranged writes a band.
func ranged(w *words, b report.Band, lower, upper string) string {
	if b.Lower == 0 {
		return fill(w.UpTo, "v", upper)
	}
	return fill(w.Between, "lower", lower, "upper", upper)
}

// distributionFree says what holds without a lognormal.
func distributionFree(w *words, g *Group) []string {
	a := g.Assessment
	d := a.DistributionFree
	if d == nil {
		return nil
	}
	name := w.Ordinal(g.Judging.Percentile)
	var out []string
	if u := d.PercentileUpper; u.Rank > 0 && !math.IsNaN(u.Value) {
		out = append(out, rankText(w.FreeUpper, name, u, a.Unit))
	} else if u.Needed > 0 {
		out = append(out, fill(w.FreeNeeded, "percentile", name, "n", strconv.Itoa(u.Needed)))
	}
	if l := d.PercentileLower; l.Rank > 0 && l.Value > 0 {
		out = append(out, rankText(w.FreeLower, name, l, a.Unit))
	}
	if e := d.Exceedance; e != nil {
		text := w.FreeSurely
		if e.Surely == e.Possibly {
			text = w.FreeCounted
		}
		out = append(out, fill(text, "lower", report.Percent(e.Lower), "upper", report.Percent(e.Upper),
			"surely", strconv.Itoa(e.Surely), "possibly", strconv.Itoa(e.Possibly), "n", strconv.Itoa(a.Sample.Readings)))
	}
	return out
}

func rankText(text, name string, o limit.OrderLimit, unit reading.Unit) string {
	return fill(text, "percentile", name, "v", withUnit(reading.Stated(o.Value), unit), "rank", strconv.Itoa(o.Rank),
		"confidence", report.Percent(o.Confidence))
}
