package figure

import (
	"io"
	"math"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// faintDensity is the part of the highest density that still shows.
const faintDensity = 0.004

// Posterior draws the posterior density of the percentile against the limit, with the probability that it lies above and those of
// the bands. The error is as for Probability.
func Posterior(w io.Writer, a *report.Assessment, f Format) error {
	if a == nil || a.Percentile == nil || a.Posterior == nil {
		return missing("posterior of the percentile")
	}
	if a.Curves == nil || len(a.Curves.Density) < 2 {
		return missing("posterior density")
	}
	x, top := densityScale(a)
	if !(top > 0) {
		return missing("posterior density")
	}
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.UsualHeight,
		Title:    titled("Where the "+ordinal(a.Percentile.Fraction)+" percentile lies", a.Name, a.Agent),
		Subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.Description = s.Subtitle + ". " + aboveWords(a) + " " + spoken(a)
	p := panel{s.Shaped(f, labelRows(a.Sample)).Panel(x, sheet.Scale{Onto: sheet.Linear, Low: 0, High: top * 1.12}).Raised()}
	return s.Draw(w, f, func() { p.posterior(a) })
}

// densityScale reaches over what shows of the density, and to the limit unless it is far; top is the highest density.
func densityScale(a *report.Assessment) (x sheet.Scale, top float64) {
	for _, d := range a.Curves.Density {
		if sheet.Finite(d.Density) {
			top = max(top, d.Density)
		}
	}
	var s sheet.Span
	for _, d := range a.Curves.Density {
		if d.Density >= faintDensity*top {
			s.Add(d.Concentration)
		}
	}
	if a.Limit != nil {
		s.Reach(a.Limit.Value, far)
	}
	return s.Scale(), top
}

// aboveWords says the probability that the percentile is above the limit.
func aboveWords(a *report.Assessment) string {
	if a.Limit == nil || math.IsNaN(a.Posterior.PercentileAboveLimit) {
		return ""
	}
	return "The probability that it is above the limit is " + percent(a.Posterior.PercentileAboveLimit) + "."
}

func (p panel) posterior(a *report.Assessment) {
	xs, ys := densityCurve(a.Curves.Density)
	p.Axes(logTicks(p.X.Low, p.X.High, 8), nil, concentration(a.Unit), "Density of the probability (per unit of ln concentration)")
	p.Area(p.Under(xs, ys, 0, math.Inf(1)), sheet.Pale)
	if a.Limit != nil {
		p.Area(p.Under(xs, ys, a.Limit.Value, math.Inf(1)), sheet.Shade)
		p.Hatch(sheet.Line{Color: sheet.Deep, Width: 0.8}, xs, ys, a.Limit.Value)
	}
	p.Curve(fitLine, xs, ys)
	p.limitUpright(a, true)
	p.percentileUpright(a)
	p.Tags(p.posteriorTags(a))
	p.Edges()
}

func densityCurve(points []report.DensityPoint) (xs, ys []float64) {
	for _, d := range points {
		if sheet.Finite(d.Density) && d.Concentration > 0 {
			xs = append(xs, d.Concentration)
			ys = append(ys, d.Density)
		}
	}
	return xs, ys
}

// percentileUpright marks the estimate and the limits of the percentile on the axis of concentrations.
func (p panel) percentileUpright(a *report.Assessment) {
	v := a.Percentile
	if !(v.Estimate > 0) {
		return
	}
	y := p.Y.From + 0.06*(p.Y.To-p.Y.From)
	p.Lying(y, v.Lower, v.Upper)
	if p.X.Holds(v.Estimate) {
		p.Estimate(p.X.At(v.Estimate), y, sheet.Diamond)
	}
}

// posteriorTags puts the probabilities in words.
func (p panel) posteriorTags(a *report.Assessment) []sheet.Tag {
	at := func(part float64) float64 { return p.Y.From + part*(p.Y.To-p.Y.From) }
	tags := []sheet.Tag{tag(at(0.06), deepType, percentileLines(a.Percentile)...)}
	if a.Limit == nil {
		return tags
	}
	if v := a.Posterior.PercentileAboveLimit; sheet.Finite(v) {
		lines := []string{"above the limit " + percent(v), "(hatched)"}
		if !p.Narrow() {
			lines = append(lines, bandLines(a.Posterior.Bands)...)
		}
		tags = append(tags, sheet.Tag{Y: at(0.85), Lines: lines, Look: limitType, Loose: true})
	}
	return tags
}

// bandLines are the probabilities of the bands under the limit, the highest first.
func bandLines(bands []report.Band) []string {
	const most = 5
	var out []string
	for i := len(bands) - 1; i >= 0 && len(out) < most; i-- {
		b := bands[i]
		switch {
		case b.Upper > 1:
		case b.Lower == 0:
			out = append(out, "below "+reading.Stated(b.Upper)+" of it "+percent(b.Probability))
		default:
			out = append(out, reading.Stated(b.Lower)+" to "+reading.Stated(b.Upper)+" of it "+percent(b.Probability))
		}
	}
	return out
}
