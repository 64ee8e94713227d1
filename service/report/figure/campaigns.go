package figure

import (
	"io"
	"strconv"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

const (
	// campaignRow is the height of a campaign, campaignNames the room for the names.
	campaignRow   = 62.0
	campaignNames = 150.0
)

// Campaigns draws campaigns side by side: readings, geometric mean and percentile with their limits, and the limit. The error is as
// for Probability.
func Campaigns(w io.Writer, c *report.Comparison, f Format) error {
	if c == nil || len(c.Campaigns) == 0 {
		return missing("campaigns")
	}
	reach := campaignsSpan(c)
	if reach.low == 0 {
		return missing("campaigns with readings that differ")
	}
	s := &sheet{
		width: sheetWidth, height: axisTop + 2*lineHeight + axisBottom + campaignRow*float64(len(c.Campaigns)),
		title:    titled("Campaigns side by side", c.Name, c.Agent),
		subtitle: judged(count(len(c.Campaigns), "campaign"), c.Campaigns[0].Limit),
	}
	s.description = s.subtitle + "."
	for _, a := range c.Campaigns {
		s.description += " " + a.Name + ": " + sample(a.Sample) + ". " + spoken(a)
	}
	p := s.panel(reach.scale(), scale{onto: linear, low: 0, high: 1}).raised()
	p.x.from = campaignNames
	return s.draw(w, f, func() { p.campaigns(c) })
}

// campaignsSpan reaches over all readings and estimates, and not too far to their limits and the limit.
func campaignsSpan(c *report.Comparison) span {
	var s span
	for _, a := range c.Campaigns {
		if a.FitCheck != nil {
			for _, v := range a.FitCheck.Plot {
				s.add(v.Reading)
			}
		}
		if a.Fit != nil {
			s.add(a.Fit.GeometricMean.Estimate)
		}
	}
	whole := s
	for _, a := range c.Campaigns {
		if p := a.Percentile; p != nil {
			for _, v := range [...]float64{p.Estimate, p.Lower, p.Upper} {
				reached := whole
				reached.reach(v, 10)
				s.add(reached.low, reached.high)
			}
		}
	}
	if l := c.Campaigns[0].Limit; l != nil {
		s.reach(l.Value, far)
	}
	for _, a := range c.Campaigns {
		if a.Sample.Below > 0 || a.Sample.Above > 0 {
			s.marked(a.Sample)
			break
		}
	}
	return s
}

func (p *panel) campaigns(c *report.Comparison) {
	first := c.Campaigns[0]
	p.axes(logTicks(p.x.low, p.x.high, 7), nil, concentration(first.Unit), "")
	p.limitUpright(first, true)
	p.campaignKey(c)
	var rules [][4]float64
	for i, a := range c.Campaigns {
		top := p.y.to - campaignRow*float64(i)
		p.campaign(a, top)
		if i > 0 {
			rules = append(rules, [4]float64{margin, top, p.width - margin, top})
		}
	}
	p.segments(gridLine, rules...)
	p.edges()
}

// campaignKey explains the marks over the panel.
func (p *panel) campaignKey(c *report.Comparison) {
	y, x := p.y.to+p.rise+4, margin+5
	wide := p.whole()
	entry := func(draw func(x float64), words string) {
		draw(x)
		p.words(x+10, y-4, words, quietType)
		x += 10 + quietType.width(words) + 20
	}
	entry(func(x float64) { wide.markers([]marker{{x: x, y: y}}, round, true) }, "reading")
	below := false
	for _, a := range c.Campaigns {
		below = below || a.Sample.Below > 0
	}
	if below {
		x += 6
		entry(func(x float64) { wide.markers([]marker{{x: x, y: y, kind: reading.Below}}, round, true) }, "below reporting limit")
	}
	entry(func(x float64) { p.estimate(x, y, square) }, "geometric mean")
	entry(func(x float64) { p.diamond(x, y) }, ordinal(c.Percentile)+" percentile, each with "+level(c.Confidence)+" limits")
}

// campaign draws one campaign under top.
func (p *panel) campaign(a *report.Assessment, top float64) {
	p.campaignName(a, top)
	if a.FitCheck != nil {
		markers := make([]marker, 0, len(a.FitCheck.Plot))
		for i, v := range a.FitCheck.Plot {
			// Neighbors stand a little apart, so that they can be counted.
			y := top - 16 + float64(i%3-1)*3
			if len(a.FitCheck.Plot) > crowd {
				y = top - 16 + float64(i*3%7-3)*2.4
			}
			markers = append(markers, marker{
				x: p.x.at(v.Reading), y: y, low: p.x.at(max(v.Lower, p.x.low)), high: p.x.at(v.Upper), kind: v.Kind,
			})
		}
		p.markers(markers, round, true)
	}
	if f := a.Fit; f != nil {
		p.lying(top-35, f.GeometricMean.Lower, f.GeometricMean.Upper)
		p.estimate(p.x.at(f.GeometricMean.Estimate), top-35, square)
	}
	v := a.Percentile
	if v == nil {
		p.column(top, "no fit", "")
		return
	}
	p.lying(top-50, v.Lower, v.Upper)
	if p.x.holds(v.Estimate) {
		p.diamond(p.x.at(v.Estimate), top-50)
	}
	outcome := ""
	if a.Decision != nil {
		outcome = a.Decision.Outcome.String()
	}
	p.column(top, percentileLines(v)[0], between(v.Lower, v.Upper), outcome)
}

// campaignName writes whose readings they are, a long name in two lines.
func (p *panel) campaignName(a *report.Assessment, top float64) {
	look, room := bodyType.strong(), p.x.from-margin-14
	name := clean(a.Name)
	lines := []string{look.fitting(name, room)}
	if look.width(name) > room {
		if first, rest, found := look.firstLine(name, room); found {
			lines = []string{first, look.fitting(rest, room)}
		}
	}
	y := top - 14
	for _, text := range lines {
		p.words(margin, y, text, look)
		y -= lineHeight
	}
	p.words(margin, y, count(a.Sample.Readings, "reading"), quietType)
	if n := a.Sample.Censored(); n > 0 {
		p.words(margin, y-lineHeight, strconv.Itoa(n)+" without a value", quietType)
	}
}

// column writes lines at the right of a campaign.
func (p *panel) column(top float64, lines ...string) {
	x := p.x.to + 12
	for i, text := range lines {
		look := quietType
		switch i {
		case 0:
			look = deepType
		case 2:
			look = bodyType
		default:
		}
		p.words(x, top-17-float64(i)*lineHeight, look.fitting(text, p.width-x-6), look)
	}
}
