package figure

import (
	"io"
	"strconv"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Sampling draws the chance of each outcome by number of samples, for the assumed exposure or, without one, after the readings so
// far; with neither, the chance of what is wanted for some exposures of the grid. The error is as for Probability.
func Sampling(w io.Writer, a *report.Plan, f Format) error {
	if a == nil {
		return missing("plan")
	}
	s := &sheet{width: sheetWidth, height: sheetHeight}
	lines, across := s.sampling(a)
	if len(lines) == 0 {
		return missing("plan: it takes an assumed exposure, readings so far or a grid")
	}
	s.description = s.title + ", " + s.subtitle + "."
	for _, l := range lines {
		last := len(l.chances) - 1
		s.description += " " + l.name + ": " + percent(l.chances[0]) + " with " + number(l.samples[0]) + ", " + percent(l.chances[last]) + " with " +
			number(l.samples[last]) + "."
	}
	low, high := lines[0].samples[0], lines[0].samples[len(lines[0].samples)-1]
	room := max(0.02*(high-low), 0.3)
	p := s.panel(scale{onto: linear, low: low - room, high: high + room}, scale{onto: linear, low: 0, high: 1})
	return s.draw(w, f, func() { p.sampling(a, lines, across) })
}

// chance is one curve of a plan.
type chance struct {
	name             string
	look             line
	samples, chances []float64
}

// sampling finds what there is to draw and puts it into words; across names the axis.
func (s *sheet) sampling(a *report.Plan) (lines []chance, across string) {
	s.title = titled("Chance of each outcome", a.Rule.Title())
	switch {
	case len(a.Rows) > 0:
		s.subtitle = "if the exposure is as assumed"
		if a.Limit.Value > 0 {
			s.subtitle += "; limit " + withUnit(reading.Stated(a.Limit.Value), a.Limit.Unit)
		}
		return outcomes(a.Rows, a.Want.Aim), "Samples"
	case a.Prospect != nil && len(a.Prospect.Rows) > 0:
		s.subtitle = "going by the readings so far"
		return outcomes(a.Prospect.Rows, a.Want.Aim), "Further samples"
	default:
		s.title = titled("Chance of the outcome wanted", a.Rule.Title())
		return s.grid(a), "Samples"
	}
}

// chanceLines are the looks of curves, told apart by their strokes.
func chanceLines() [6]line {
	return [...]line{
		fitLine,
		{color: ink, width: 2, dash: []vg.Length{9, 4}},
		{color: quiet, width: 2, dash: []vg.Length{2, 3}},
		{color: deep, width: 1.2, dash: []vg.Length{12, 3, 2, 3}},
		{color: ink, width: 1},
		{color: quiet, width: 1.4, dash: []vg.Length{5, 5}},
	}
}

// outcomes are the curves of the three outcomes, and that of either settled one where it is wanted.
func outcomes(rows []planning.Row, aim planning.Aim) []chance {
	looks := chanceLines()
	lines := []chance{{name: "compliant", look: looks[0]}, {name: "not compliant", look: looks[1]}, {name: "undecided", look: looks[2]}}
	if aim == planning.Settle {
		lines = append(lines, chance{name: "settled", look: looks[4]})
	}
	for _, r := range rows {
		for i := range lines {
			lines[i].samples = append(lines[i].samples, float64(r.Samples))
			lines[i].chances = append(lines[i].chances, [...]float64{r.Compliant, r.NotCompliant, r.Undecided, r.Settled()}[i])
		}
	}
	return lines
}

// grid takes some of the exposures of a grid, evenly.
func (s *sheet) grid(a *report.Plan) []chance {
	looks := chanceLines()
	n := min(len(a.Curves), len(looks))
	s.subtitle = count(len(a.Curves), "assumed exposure")
	if n < len(a.Curves) {
		s.subtitle = strconv.Itoa(n) + " of " + s.subtitle
	}
	s.subtitle += ", by GSD and 95th percentile as a part of the limit"
	lines := make([]chance, 0, n)
	for i := range n {
		c := a.Curves[i*len(a.Curves)/n]
		if len(c.Rows) == 0 {
			continue
		}
		l := chance{name: "GSD " + number(c.GeometricStandardDeviation) + ", " + number(100*c.PercentileToLimit) + " %", look: looks[i]}
		for _, r := range c.Rows {
			l.samples = append(l.samples, float64(r.Samples))
			l.chances = append(l.chances, wanted(a.Want.Aim, r.Chances))
		}
		lines = append(lines, l)
	}
	return lines
}

func wanted(aim planning.Aim, c planning.Chances) float64 {
	switch aim {
	case planning.Comply:
		return c.Compliant
	case planning.Refuse:
		return c.NotCompliant
	default:
		return c.Settled()
	}
}

func (p *panel) sampling(a *report.Plan, lines []chance, across string) {
	var ticks []tick
	for v := 0; v <= 100; v += 20 {
		ticks = append(ticks, tick{float64(v) / 100, strconv.Itoa(v)})
	}
	p.axes(p.sampleTicks(), ticks, across, "Chance, %")
	var tags []tag
	if w := a.Want.Chance; w > 0 && w <= 1 {
		y := p.y.at(w)
		p.segments(limitLine, [4]float64{p.x.from, y, p.x.to, y})
		tags = append(tags, tag{y, []string{"wanted " + level(w), a.Want.Aim.String()}, limitType, false, line{}})
	}
	for _, l := range lines {
		p.curve(l.look, l.samples, l.chances)
		if len(l.samples) == 1 {
			p.markers([]marker{{x: p.x.at(l.samples[0]), y: p.y.at(l.chances[0])}}, round, false)
		}
		last := len(l.chances) - 1
		tags = append(tags, tag{p.y.within(l.chances[last]), []string{l.name}, bodyType, false, l.look})
	}
	p.needed(a, across)
	p.tags(tags)
	p.edges()
}

// sampleTicks are whole numbers.
func (p *panel) sampleTicks() []tick {
	var ticks []tick
	for _, t := range linearTicks(p.x.low, p.x.high, 9) {
		if t.value == float64(int(t.value)) {
			ticks = append(ticks, t)
		}
	}
	return ticks
}

// needed marks the smallest number of samples that has the wanted chance.
func (p *panel) needed(a *report.Plan, across string) {
	n := a.Needed.Samples
	if len(a.Rows) == 0 && a.Prospect != nil {
		n = a.Prospect.Needed.Samples
	}
	if x := float64(n); n > 0 && p.x.holds(x) && (len(a.Rows) > 0 || a.Prospect != nil) {
		at := p.x.at(x)
		p.segments(dataLine, [4]float64{at, p.y.from, at, p.y.to})
		words := count(n, "sample")
		if across != "Samples" {
			words = strconv.Itoa(n) + " more"
		}
		p.words(max(at, p.x.from+60), p.y.to+5, words, bodyType.strong().at(middle))
	}
}
