package figure

import (
	"io"
	"math"

	"example.com/tailbound/service/report"
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
	s := &sheet{
		width: sheetWidth, height: sheetHeight,
		title:    titled("Exposures above a concentration", a.Name, a.Agent),
		subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.description = s.subtitle + ". " + spoken(a)
	p := s.shaped(f, labelRows(a.Sample)).panel(exceedanceScale(a), scale{onto: math.Log, low: leastExceedance, high: 1}).raised()
	return s.draw(w, f, func() { p.exceedance(a) })
}

// exceedanceScale reaches over the curve between 99.9 % and 0.1 %, and to the limit unless it is far.
func exceedanceScale(a *report.Assessment) scale {
	var s span
	for _, c := range a.Curves.Exceedances {
		if c.Fraction >= leastExceedance && c.Fraction <= 1-leastExceedance {
			s.add(c.Concentration)
		}
	}
	if a.Limit != nil {
		s.reach(a.Limit.Value, far)
	}
	return s.scale()
}

func (p *panel) exceedance(a *report.Assessment) {
	xs, fractions, lower, upper := exceedanceCurve(a.Curves.Exceedances)
	p.band(xs, lower, upper)
	p.axes(logTicks(p.x.low, p.x.high, 8), exceedanceTicks(), concentration(a.Unit), "Exposures above it, % (logarithmic)")
	p.curve(thinLine.dashed(2, 2), xs, lower)
	p.curve(thinLine.dashed(2, 2), xs, upper)
	p.curve(fitLine, xs, fractions)
	p.limitUpright(a, true)
	p.tags(p.exceedanceMark(a))
	p.edges()
}

func exceedanceTicks() []tick {
	ticks := logTicks(100*leastExceedance, 100, 10)
	for i := range ticks {
		ticks[i].value /= 100
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
func (p *panel) exceedanceMark(a *report.Assessment) []tag {
	e := a.Exceedance
	if e == nil || !(e.Estimate >= 0) || !p.x.holds(e.Limit) {
		return nil
	}
	x := p.x.at(e.Limit)
	p.whisker(x, max(e.Lower, 1e-12), e.Upper)
	if e.Estimate >= p.y.low {
		p.diamond(x, p.y.within(e.Estimate))
	}
	return []tag{{p.y.within(max(e.Estimate, p.y.low)), []string{
		"above the limit " + percent(e.Estimate), level(e.Confidence) + " limits " + percent(e.Lower) + " to " + percent(e.Upper),
	}, deepType, false, line{}}}
}

// limitUpright draws the limit upwards with its label at the top. One that is off the scale is named at its edge.
func (p *panel) limitUpright(a *report.Assessment, off bool) {
	if a.Limit == nil {
		return
	}
	text := limitLines(a.Limit)[0]
	x := p.x.within(a.Limit.Value)
	look := limitType.at(middle)
	switch {
	case p.x.holds(a.Limit.Value):
		p.segments(limitLine, [4]float64{x, p.y.from, x, p.y.to})
	case !off:
		return
	case a.Limit.Value > p.x.high:
		text += " →"
	default:
		text = "← " + text
	}
	half := limitType.width(text) / 2
	x = max(p.x.from+half, min(p.width-margin-half, x))
	p.words(x, p.y.to+5, text, look)
}
