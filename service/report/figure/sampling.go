package figure

import (
	"io"
	"strconv"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// Sampling draws the chance of each outcome by number of samples, for the assumed exposure or, without one, after the readings so
// far; with neither, the chance of what is wanted for some exposures of the grid. The error is as for Probability.
func Sampling(w io.Writer, a *report.Plan, f Format) error {
	if a == nil {
		return missing("plan")
	}
	s := &sheet.Sheet{Width: sheet.UsualWidth, Height: sheet.UsualHeight}
	lines, across := chances(s, a)
	if len(lines) == 0 {
		return missing("plan: it takes an assumed exposure, readings so far or a grid")
	}
	s.Description = s.Title + ", " + s.Subtitle + "."
	for _, l := range lines {
		last := len(l.chances) - 1
		s.Description += " " + l.name + ": " + percent(l.chances[0]) + " with " + number(l.samples[0]) + ", " + percent(l.chances[last]) + " with " +
			number(l.samples[last]) + "."
	}
	low, high := lines[0].samples[0], lines[0].samples[len(lines[0].samples)-1]
	room := max(0.02*(high-low), 0.3)
	p := panel{s.Panel(sheet.Scale{Onto: sheet.Linear, Low: low - room, High: high + room}, sheet.Scale{Onto: sheet.Linear, Low: 0, High: 1})}
	return s.Draw(w, f, func() { p.sampling(a, lines, across) })
}

// chance is one curve of a plan.
type chance struct {
	name             string
	look             sheet.Line
	samples, chances []float64
}

// chances finds what there is to draw and puts it into words; across names the axis.
func chances(s *sheet.Sheet, a *report.Plan) (lines []chance, across string) {
	s.Title = titled("Chance of each outcome", a.Rule.Title())
	switch {
	case len(a.Rows) > 0:
		s.Subtitle = "if the exposure is as assumed"
		if a.Limit.Value > 0 {
			s.Subtitle += "; limit " + withUnit(reading.Stated(a.Limit.Value), a.Limit.Unit)
		}
		return outcomes(a.Rows, a.Want.Aim), "Samples"
	case a.Prospect != nil && len(a.Prospect.Rows) > 0:
		s.Subtitle = "going by the readings so far"
		return outcomes(a.Prospect.Rows, a.Want.Aim), "Further samples"
	default:
		s.Title = titled("Chance of the outcome wanted", a.Rule.Title())
		return grid(s, a), "Samples"
	}
}

// chanceLines are the looks of curves, told apart by their strokes.
func chanceLines() [6]sheet.Line {
	return [...]sheet.Line{
		fitLine,
		{Color: sheet.Ink, Width: 2, Dash: []vg.Length{9, 4}},
		{Color: sheet.Quiet, Width: 2, Dash: []vg.Length{2, 3}},
		{Color: sheet.Deep, Width: 1.2, Dash: []vg.Length{12, 3, 2, 3}},
		{Color: sheet.Ink, Width: 1},
		{Color: sheet.Quiet, Width: 1.4, Dash: []vg.Length{5, 5}},
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
func grid(s *sheet.Sheet, a *report.Plan) []chance {
	looks := chanceLines()
	n := min(len(a.Curves), len(looks))
	s.Subtitle = count(len(a.Curves), "assumed exposure")
	if n < len(a.Curves) {
		s.Subtitle = strconv.Itoa(n) + " of " + s.Subtitle
	}
	s.Subtitle += ", by GSD and 95th percentile as a part of the limit"
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

func (p panel) sampling(a *report.Plan, lines []chance, across string) {
	var ticks []sheet.Tick
	for v := 0; v <= 100; v += 20 {
		ticks = append(ticks, sheet.Tick{Value: float64(v) / 100, Label: strconv.Itoa(v)})
	}
	p.Axes(wholeTicks(p.X.Low, p.X.High, 9), ticks, across, "Chance, %")
	var tags []sheet.Tag
	if w := a.Want.Chance; w > 0 && w <= 1 {
		y := p.Y.At(w)
		p.Segments(limitLine, [4]float64{p.X.From, y, p.X.To, y})
		tags = append(tags, tag(y, limitType, "wanted "+level(w), a.Want.Aim.String()))
	}
	for _, l := range lines {
		p.Curve(l.look, l.samples, l.chances)
		if len(l.samples) == 1 {
			p.Markers([]sheet.Marker{{X: p.X.At(l.samples[0]), Y: p.Y.At(l.chances[0])}}, sheet.Round, false)
		}
		last := len(l.chances) - 1
		tags = append(tags, sheet.Tag{Y: p.Y.Within(l.chances[last]), Lines: []string{l.name}, Look: bodyType, Sample: l.look})
	}
	p.needed(a, across)
	p.Tags(tags)
	p.Edges()
}

// needed marks the smallest number of samples that has the wanted chance.
func (p panel) needed(a *report.Plan, across string) {
	n := a.Needed.Samples
	if len(a.Rows) == 0 && a.Prospect != nil {
		n = a.Prospect.Needed.Samples
	}
	if x := float64(n); n > 0 && p.X.Holds(x) && (len(a.Rows) > 0 || a.Prospect != nil) {
		at := p.X.At(x)
		p.Segments(dataLine, [4]float64{at, p.Y.From, at, p.Y.To})
		words := count(n, "sample")
		if across != "Samples" {
			words = strconv.Itoa(n) + " more"
		}
		p.Words(max(at, p.X.From+60), p.Y.To+5, words, bodyType.Strong().At(sheet.Middle))
	}
}
