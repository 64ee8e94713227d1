package figure

import (
	"io"
	"strconv"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

const (
	// campaignRow is the height of a campaign, campaignNames the room for the names.
	campaignRow   = 68.0
	campaignNames = 150.0
)

// Campaigns draws campaigns side by side: readings, geometric mean and percentile with their limits, and the limit. The error is as
// for Probability.
func Campaigns(w io.Writer, c *report.Comparison, f Format) error {
	if c == nil || len(c.Campaigns) == 0 {
		return missing("campaigns")
	}
	reach := campaignsSpan(c)
	if reach.Low == 0 {
		return missing("campaigns with readings that differ")
	}
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.AxisTop + sheet.LineHeight + sheet.AxisBottom + campaignRow*float64(len(c.Campaigns)),
		Title:    titled("Campaigns side by side", c.Name, c.Agent),
		Subtitle: judged(count(len(c.Campaigns), "campaign"), c.Campaigns[0].Limit) + "; bars: " + level(c.Confidence) + " limits, one-sided each",
	}
	s.Description = s.Subtitle + "."
	for _, a := range c.Campaigns {
		s.Description += " " + a.Name + ": " + sample(a.Sample) + ". " + spoken(a)
	}
	p := panel{s.Panel(reach.Scale(), sheet.Scale{Onto: sheet.Linear, Low: 0, High: 1}).Raised()}
	p.X.From = campaignNames
	return s.Draw(w, f, func() { p.campaigns(c) })
}

// campaignsSpan reaches over all readings and estimates, and not too far to their limits and the limit.
func campaignsSpan(c *report.Comparison) sheet.Span {
	var s sheet.Span
	for _, a := range c.Campaigns {
		if a.FitCheck != nil {
			for _, v := range a.FitCheck.Plot {
				s.Add(v.Reading)
			}
		}
		if a.Fit != nil {
			s.Add(a.Fit.GeometricMean.Estimate)
		}
	}
	whole := s
	for _, a := range c.Campaigns {
		if p := a.Percentile; p != nil {
			for _, v := range [...]float64{p.Estimate, p.Lower, p.Upper} {
				reached := whole
				reached.Reach(v, 10)
				s.Add(reached.Low, reached.High)
			}
		}
	}
	if l := c.Campaigns[0].Limit; l != nil {
		s.Reach(l.Value, far)
	}
	for _, a := range c.Campaigns {
		if a.Sample.Below > 0 || a.Sample.Above > 0 {
			marked(&s, a.Sample)
			break
		}
	}
	return s
}

func (p panel) campaigns(c *report.Comparison) {
	first := c.Campaigns[0]
	p.Axes(logTicks(p.X.Low, p.X.High, 7), nil, concentration(first.Unit), "")
	p.limitUpright(first, true)
	p.campaignKey(c)
	var rules [][4]float64
	for i, a := range c.Campaigns {
		top := p.Y.To - campaignRow*float64(i)
		p.campaign(a, top)
		if i > 0 {
			rules = append(rules, [4]float64{sheet.Margin, top, p.Width - sheet.Margin, top})
		}
	}
	p.Segments(ruleLine, rules...)
	p.Edges()
}

// campaignKey explains the marks over the panel, as far as they are there.
func (p panel) campaignKey(c *report.Comparison) {
	y, x := p.Y.To+p.Rise+4, sheet.Margin+5
	wide := p.Whole()
	entry := func(words string, before, after float64, draw func(x float64)) {
		x += before
		draw(x)
		p.Words(x+10+after, y-4, words, quietType)
		x += 10 + after + quietType.Width(words) + 16
	}
	var all reading.Counts
	for _, a := range c.Campaigns {
		all.Below += a.Sample.Below
		all.Above += a.Sample.Above
		all.Between += a.Sample.Between
	}
	entry("reading", 0, 0, func(x float64) { wide.Markers([]sheet.Marker{{X: x, Y: y}}, sheet.Round, true) })
	for _, k := range [...]struct {
		n             int
		kind          reading.Kind
		words         string
		before, after float64
	}{
		{all.Below, reading.Below, "below a limit", 7, 0}, {all.Above, reading.Above, "above range", 0, 7}, {all.Between, reading.Between, "in bounds", 5, 5},
	} {
		if k.n > 0 {
			entry(k.words, k.before, k.after, func(x float64) {
				wide.Markers([]sheet.Marker{{X: x, Y: y, Low: x - 9, High: x + 9, Form: formOf(k.kind)}}, sheet.Round, true)
			})
		}
	}
	entry("geometric mean", 0, 0, func(x float64) { p.Estimate(x, y, sheet.Square) })
	entry(ordinal(c.Percentile)+" percentile", 0, 0, func(x float64) { p.Estimate(x, y, sheet.Diamond) })
}

// campaign draws one campaign under top.
func (p panel) campaign(a *report.Assessment, top float64) {
	p.campaignName(a, top)
	if a.FitCheck != nil {
		markers := make([]sheet.Marker, 0, len(a.FitCheck.Plot))
		for i, v := range a.FitCheck.Plot {
			// Neighbors stand a little apart, so that they can be counted.
			y := top - 18 + float64(i%3-1)*3
			if len(a.FitCheck.Plot) > sheet.Crowd {
				y = top - 18 + float64(i*3%7-3)*2.4
			}
			markers = append(markers, sheet.Marker{
				X: p.X.At(v.Reading), Y: y, Low: p.X.At(max(v.Lower, p.X.Low)), High: p.X.At(v.Upper), Form: formOf(v.Kind),
			})
		}
		p.Markers(markers, sheet.Round, true)
	}
	if f := a.Fit; f != nil {
		p.Lying(top-38, f.GeometricMean.Lower, f.GeometricMean.Upper)
		p.Estimate(p.X.At(f.GeometricMean.Estimate), top-38, sheet.Square)
	}
	v := a.Percentile
	if v == nil {
		p.column(top, "no fit", "")
		return
	}
	p.Lying(top-55, v.Lower, v.Upper)
	if p.X.Holds(v.Estimate) {
		p.Estimate(p.X.At(v.Estimate), top-55, sheet.Diamond)
	}
	outcome := ""
	if a.Decision != nil {
		outcome = a.Decision.Outcome.String()
	}
	p.column(top, percentileLines(v)[0], between(v.Lower, v.Upper), outcome)
}

// campaignName writes whose readings they are, a long name in two lines.
func (p panel) campaignName(a *report.Assessment, top float64) {
	look, room := bodyType.Strong(), p.X.From-sheet.Margin-14
	name := sheet.Clean(a.Name)
	lines := []string{look.Fitting(name, room)}
	if look.Width(name) > room {
		if first, rest, found := look.FirstLine(name, room); found {
			lines = []string{first, look.Fitting(rest, room)}
		}
	}
	y := top - 14
	for _, text := range lines {
		p.Words(sheet.Margin, y, text, look)
		y -= sheet.LineHeight
	}
	p.Words(sheet.Margin, y, count(a.Sample.Readings, "reading"), quietType)
	if n := a.Sample.Censored(); n > 0 {
		p.Words(sheet.Margin, y-sheet.LineHeight, strconv.Itoa(n)+" without a value", quietType)
	}
}

// column writes lines at the right of a campaign.
func (p panel) column(top float64, lines ...string) {
	x := p.X.To + 12
	for i, text := range lines {
		look := quietType
		switch i {
		case 0:
			look = deepType
		case 2:
			look = bodyType
		default:
		}
		p.Words(x, top-17-float64(i)*sheet.LineHeight, look.Fitting(text, p.Width-x-6), look)
	}
}
