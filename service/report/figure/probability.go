package figure

import (
	"io"
	"math"

	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
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
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.UsualHeight,
		Title:    titled("Probability plot", a.Name, a.Agent),
		Subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.Subtitle = crowded(s.Subtitle, len(a.FitCheck.Plot))
	s.Description = s.Subtitle + ". " + spoken(a)
	p := panel{s.Shaped(f, labelRows(a.Sample)).Panel(scoreScale(a), readingScale(a))}
	return s.Draw(w, f, func() { p.probability(a) })
}

// scoreScale reaches from 1 % to 99 %, and further where a reading does.
func scoreScale(a *report.Assessment) sheet.Scale {
	end := numeric.NormalQuantile(0.99)
	for _, point := range a.FitCheck.Plot {
		if sheet.Finite(point.NormalScore) {
			end = max(end, math.Abs(point.NormalScore))
		}
	}
	end = min(end, 8) + 0.15
	return sheet.Scale{Onto: sheet.Linear, Low: -end, High: end}
}

// readingScale reaches over the readings, the fitted line between 5 % and 95 %, and the percentile; the limits of the
// percentile and the limit stretch it only so far.
func readingScale(a *report.Assessment) sheet.Scale {
	var s sheet.Span
	for _, point := range a.FitCheck.Plot {
		s.Add(point.Reading)
	}
	for _, point := range a.FitCheck.Plot {
		s.Reach(point.Lower, 10)
		s.Reach(point.Upper, 10)
	}
	if p := a.Percentile; p != nil {
		s.Reach(p.Estimate, 1e3)
		s.Reach(p.Lower, 3)
		s.Reach(p.Upper, 10)
	}
	if a.Limit != nil {
		s.Reach(a.Limit.Value, far)
	}
	marked(&s, a.Sample)
	return s.Scale()
}

// fitTag names the fitted line where it ends.
func (p panel) fitTag(a *report.Assessment) []sheet.Tag {
	if a.Curves == nil || a.Fit == nil || a.Percentile == nil || len(a.Curves.Percentiles) < 2 {
		return nil
	}
	scores, estimates, _, _ := percentileCurve(a.Curves.Percentiles)
	n := len(scores) - 1
	end := estimates[n]
	if slope := (math.Log(end) - math.Log(estimates[n-1])) / (scores[n] - scores[n-1]); scores[n] > p.X.High && sheet.Finite(slope) {
		end *= math.Exp(slope * (p.X.High - scores[n]))
	}
	return []sheet.Tag{tag(p.Y.Within(end), bodyType, "fitted lognormal", level(a.Percentile.Confidence)+" limits, one-sided each")}
}

func (p panel) probability(a *report.Assessment) {
	if c := a.Curves; c != nil && len(c.Percentiles) > 1 {
		scores, estimates, lower, upper := percentileCurve(c.Percentiles)
		p.Band(scores, lower, upper)
		p.probabilityAxes(a)
		p.Curve(thinLine.Dashed(2, 2), scores, lower)
		p.Curve(thinLine.Dashed(2, 2), scores, upper)
		p.Curve(fitLine, scores, estimates)
	} else {
		p.probabilityAxes(a)
	}
	tags := p.limitAcross(a)
	p.Markers(p.plotMarkers(a.FitCheck.Plot), sheet.Round, false)
	p.key(a.Sample, false)
	p.Tags(append(append(tags, p.percentileMark(a)...), p.fitTag(a)...))
	p.Edges()
}

func (p panel) probabilityAxes(a *report.Assessment) {
	p.Axes(sheet.PercentTicks(p.X.Low, p.X.High, reading.Stated), logTicks(p.Y.Low, p.Y.High, 12), "Exposures below, %", concentration(a.Unit))
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
func (p panel) plotMarkers(points []check.PlotPoint) []sheet.Marker {
	markers := make([]sheet.Marker, len(points))
	for i, c := range points {
		markers[i] = sheet.Marker{
			X: p.X.At(c.NormalScore), Y: p.Y.At(c.Reading), Low: p.Y.At(max(c.Lower, p.Y.Low)), High: p.Y.At(c.Upper), Form: formOf(c.Kind),
		}
	}
	return markers
}

// limitAcross draws the limit from left to right and returns its label. One that is off the scale is named at the edge.
func (p panel) limitAcross(a *report.Assessment) []sheet.Tag {
	if a.Limit == nil {
		return nil
	}
	lines := limitLines(a.Limit)
	y := p.Y.Within(a.Limit.Value)
	if p.Y.Holds(a.Limit.Value) {
		p.Segments(limitLine, [4]float64{p.X.From, y, p.X.To, y})
	} else {
		if p.Narrow() {
			lines[0] += " " + beyond(a.Limit.Value > p.Y.High)[:len("↑")]
		} else {
			lines = append(lines, beyond(a.Limit.Value > p.Y.High))
		}
	}
	return []sheet.Tag{tag(y, limitType, lines...)}
}

// beyond says where something off the scale lies.
func beyond(above bool) string {
	if above {
		return "↑ above this scale"
	}
	return "↓ below this scale"
}

// percentileMark draws the percentile with its limits at its score and returns the label.
func (p panel) percentileMark(a *report.Assessment) []sheet.Tag {
	v := a.Percentile
	if v == nil || !(v.Estimate > 0) || !(v.Fraction > 0 && v.Fraction < 1) {
		return nil
	}
	x := p.X.Within(numeric.NormalQuantile(v.Fraction))
	p.Whisker(x, v.Lower, v.Upper)
	y := p.Y.Within(v.Estimate)
	p.Estimate(x, y, sheet.Diamond)
	return []sheet.Tag{tag(y, deepType, percentileLines(v)...)}
}
