package figure

import (
	"io"
	"math"

	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/report"
)

// far is the factor beyond which a limit does not stretch the scale of the readings; it is then named at the edge.
const far = 30

// Probability draws the log-probability plot: readings against their normal scores, the fitted line with its band, the limit,
// and the percentile with its limits. The line is left out when a has no curves. The error is that of w, or a fault that says
// what is missing.
func Probability(w io.Writer, a *report.Assessment, f Format) error {
	if a == nil || a.FitCheck == nil || len(a.FitCheck.Plot) == 0 {
		return missing("probability plot, which takes readings that differ")
	}
	s := &sheet{
		width: sheetWidth, height: sheetHeight,
		title:    titled("Probability plot", a.Name, a.Agent),
		subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.subtitle = crowded(s.subtitle, len(a.FitCheck.Plot))
	s.description = s.subtitle + ". " + spoken(a)
	p := s.shaped(f, labelRows(a.Sample)).panel(scoreScale(a), readingScale(a))
	return s.draw(w, f, func() { p.probability(a) })
}

// scoreScale reaches from 1 % to 99 %, and further where a reading does.
func scoreScale(a *report.Assessment) scale {
	end := numeric.NormalQuantile(0.99)
	for _, point := range a.FitCheck.Plot {
		if finite(point.NormalScore) {
			end = max(end, math.Abs(point.NormalScore))
		}
	}
	end = min(end, 8) + 0.15
	return scale{onto: linear, low: -end, high: end}
}

// readingScale reaches over the readings, the fitted line between 5 % and 95 %, and the percentile; the limits of the
// percentile and the limit stretch it only so far.
func readingScale(a *report.Assessment) scale {
	var s span
	for _, point := range a.FitCheck.Plot {
		s.add(point.Reading)
	}
	for _, point := range a.FitCheck.Plot {
		s.reach(point.Lower, 10)
		s.reach(point.Upper, 10)
	}
	if p := a.Percentile; p != nil {
		s.reach(p.Estimate, 1e3)
		s.reach(p.Lower, 3)
		s.reach(p.Upper, 10)
	}
	if a.Limit != nil {
		s.reach(a.Limit.Value, far)
	}
	s.marked(a.Sample)
	return s.scale()
}

// fitTag names the fitted line where it ends.
func (p *panel) fitTag(a *report.Assessment) []tag {
	if a.Curves == nil || a.Fit == nil || a.Percentile == nil || len(a.Curves.Percentiles) < 2 {
		return nil
	}
	scores, estimates, _, _ := percentileCurve(a.Curves.Percentiles)
	n := len(scores) - 1
	end := estimates[n]
	if slope := (math.Log(end) - math.Log(estimates[n-1])) / (scores[n] - scores[n-1]); scores[n] > p.x.high && finite(slope) {
		end *= math.Exp(slope * (p.x.high - scores[n]))
	}
	return []tag{{p.y.within(end), []string{"fitted lognormal", level(a.Percentile.Confidence) + " limits, one-sided each"}, bodyType, false, line{}}}
}

// scale is the logarithmic scale of a range.
func (s *span) scale() scale {
	if s.low == 0 {
		s.add(1)
	}
	r := s.padded()
	return scale{onto: math.Log, low: r.low, high: r.high}
}

func (p *panel) probability(a *report.Assessment) {
	if c := a.Curves; c != nil && len(c.Percentiles) > 1 {
		scores, estimates, lower, upper := percentileCurve(c.Percentiles)
		p.band(scores, lower, upper)
		p.probabilityAxes(a)
		p.curve(thinLine.dashed(2, 2), scores, lower)
		p.curve(thinLine.dashed(2, 2), scores, upper)
		p.curve(fitLine, scores, estimates)
	} else {
		p.probabilityAxes(a)
	}
	tags := p.limitAcross(a)
	p.markers(p.plotMarkers(a.FitCheck.Plot), round, false)
	p.key(a.Sample, false)
	p.tags(append(append(tags, p.percentileMark(a)...), p.fitTag(a)...))
	p.edges()
}

func (p *panel) probabilityAxes(a *report.Assessment) {
	p.axes(percentTicks(p.x.low, p.x.high), logTicks(p.y.low, p.y.high, 12), "Exposures below, %", concentration(a.Unit))
}

// percentileCurve is the fitted line and its band over the normal scores.
func percentileCurve(points []report.CurvePoint) (scores, estimates, lower, upper []float64) {
	for _, c := range points {
		scores = append(scores, numeric.NormalQuantile(c.Fraction))
		estimates = append(estimates, c.Concentration)
		lower = append(lower, c.Lower)
		upper = append(upper, c.Upper)
	}
	return scores, estimates, lower, upper
}

// plotMarkers are the readings.
func (p *panel) plotMarkers(points []check.PlotPoint) []marker {
	markers := make([]marker, len(points))
	for i, c := range points {
		markers[i] = marker{
			x: p.x.at(c.NormalScore), y: p.y.at(c.Reading), low: p.y.at(max(c.Lower, p.y.low)), high: p.y.at(c.Upper), kind: c.Kind,
		}
	}
	return markers
}

// limitAcross draws the limit from left to right and returns its label. One that is off the scale is named at the edge.
func (p *panel) limitAcross(a *report.Assessment) []tag {
	if a.Limit == nil {
		return nil
	}
	lines := limitLines(a.Limit)
	y := p.y.within(a.Limit.Value)
	if p.y.holds(a.Limit.Value) {
		p.segments(limitLine, [4]float64{p.x.from, y, p.x.to, y})
	} else {
		if p.narrow() {
			lines[0] += " " + beyond(a.Limit.Value > p.y.high)[:len("↑")]
		} else {
			lines = append(lines, beyond(a.Limit.Value > p.y.high))
		}
	}
	return []tag{{y, lines, limitType, false, line{}}}
}

// beyond says where something off the scale lies.
func beyond(above bool) string {
	if above {
		return "↑ above this scale"
	}
	return "↓ below this scale"
}

// percentileMark draws the percentile with its limits at its score and returns the label.
func (p *panel) percentileMark(a *report.Assessment) []tag {
	v := a.Percentile
	if v == nil || !(v.Estimate > 0) || !(v.Fraction > 0 && v.Fraction < 1) {
		return nil
	}
	x := p.x.within(numeric.NormalQuantile(v.Fraction))
	p.whisker(x, v.Lower, v.Upper)
	y := p.y.within(v.Estimate)
	p.diamond(x, y)
	return []tag{{y, percentileLines(v), deepType, false, line{}}}
}
