package figure

import (
	"io"
	"math"

	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// leastExceedance is the smallest fraction that the curve shows.
const leastExceedance = 0.001

// Exceedance draws the fraction of exposures above a concentration, with its band and the limit. The error is as for Probability.
func Exceedance(w io.Writer, a *report.Assessment, f Format) error {
	if a == nil || a.Fit == nil {
		return missing("fitted lognormal")
	}
	if a.Curves == nil || len(a.Curves.Exceedances) < 2 {
		return missing("curves")
	}
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.UsualHeight,
		Title:    titled("Exposures above a concentration", a.Name, a.Agent),
		Subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.Description = s.Subtitle + ". " + spoken(a)
	p := panel{s.Shaped(f, labelRows(a.Sample)).Panel(exceedanceScale(a), sheet.Scale{Onto: math.Log, Low: leastExceedance, High: 1}).Raised()}
	return s.Draw(w, f, func() { p.exceedance(a) })
}

// exceedanceScale reaches over the curve between 99.9 % and 0.1 %, and to the limit unless it is far.
func exceedanceScale(a *report.Assessment) sheet.Scale {
	var s sheet.Span
	for _, c := range a.Curves.Exceedances {
		if c.Fraction >= leastExceedance && c.Fraction <= 1-leastExceedance {
			s.Add(c.Concentration)
		}
	}
	if a.Limit != nil {
		s.Reach(a.Limit.Value, far)
	}
	return s.Scale()
}

func (p panel) exceedance(a *report.Assessment) {
	xs, fractions, lower, upper := exceedanceCurve(a.Curves.Exceedances)
	p.Band(xs, lower, upper)
	p.Axes(logTicks(p.X.Low, p.X.High, 8), exceedanceTicks(), concentration(a.Unit), "Exposures above it, % (logarithmic)")
	p.Curve(thinLine.Dashed(2, 2), xs, lower)
	p.Curve(thinLine.Dashed(2, 2), xs, upper)
	p.Curve(fitLine, xs, fractions)
	p.limitUpright(a, true)
	p.Tags(p.exceedanceMark(a))
	p.Edges()
}

func exceedanceTicks() []sheet.Tick {
	ticks := logTicks(100*leastExceedance, 100, 10)
	for i := range ticks {
		ticks[i].Value /= 100
	}
	return ticks
}

// exceedanceCurve keeps what is just over nothing, so that the curve has a place on the logarithmic scale.
func exceedanceCurve(points []report.CurvePoint) (xs, fractions, lower, upper []float64) {
	shown := func(v float64) float64 {
		if math.IsNaN(v) {
			return v
		}
		return max(v, 1e-12)
	}
	for _, c := range points {
		xs = append(xs, c.Concentration)
		fractions = append(fractions, shown(c.Fraction))
		lower = append(lower, shown(c.Lower))
		upper = append(upper, shown(c.Upper))
	}
	return xs, fractions, lower, upper
}

// exceedanceMark draws the exceedance of the limit with its limits and returns the label.
func (p panel) exceedanceMark(a *report.Assessment) []sheet.Tag {
	e := a.Exceedance
	if e == nil || !(e.Estimate >= 0) || !p.X.Holds(e.Limit) {
		return nil
	}
	x := p.X.At(e.Limit)
	p.Whisker(x, max(e.Lower, 1e-12), e.Upper)
	if e.Estimate >= p.Y.Low {
		p.Estimate(x, p.Y.Within(e.Estimate), sheet.Diamond)
	}
	return []sheet.Tag{tag(p.Y.Within(max(e.Estimate, p.Y.Low)), deepType,
		"above the limit "+percent(e.Estimate), level(e.Confidence)+" limits "+percent(e.Lower)+" to "+percent(e.Upper))}
}

// limitUpright draws the limit upwards with its label at the top. One that is off the scale is named at its edge.
func (p panel) limitUpright(a *report.Assessment, off bool) {
	if a.Limit == nil {
		return
	}
	text := limitLines(a.Limit)[0]
	x := p.X.Within(a.Limit.Value)
	look := limitType.At(sheet.Middle)
	switch {
	case p.X.Holds(a.Limit.Value):
		p.Segments(limitLine, [4]float64{x, p.Y.From, x, p.Y.To})
	case !off:
		return
	case a.Limit.Value > p.X.High:
		text += " →"
	default:
		text = "← " + text
	}
	half := limitType.Width(text) / 2
	x = max(p.X.From+half, min(p.Width-sheet.Margin-half, x))
	p.Words(x, p.Y.To+5, text, look)
}
