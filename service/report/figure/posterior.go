package figure

import (
	"io"
	"math"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
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
	s := &sheet{
		width: sheetWidth, height: sheetHeight,
		title:    titled("Where the "+ordinal(a.Percentile.Fraction)+" percentile lies", a.Name, a.Agent),
		subtitle: judged(sample(a.Sample), a.Limit),
	}
	s.description = s.subtitle + ". " + aboveWords(a) + " " + spoken(a)
	p := s.shaped(f, labelRows(a.Sample)).panel(x, scale{onto: linear, low: 0, high: top * 1.12}).raised()
	return s.draw(w, f, func() { p.posterior(a) })
}

// densityScale reaches over what shows of the density, and to the limit unless it is far; top is the highest density.
func densityScale(a *report.Assessment) (x scale, top float64) {
	for _, d := range a.Curves.Density {
		if finite(d.Density) {
			top = max(top, d.Density)
		}
	}
	var s span
	for _, d := range a.Curves.Density {
		if d.Density >= faintDensity*top {
			s.add(d.Concentration)
		}
	}
	if a.Limit != nil {
		s.reach(a.Limit.Value, far)
	}
	return s.scale(), top
}

// aboveWords says the probability that the percentile is above the limit.
func aboveWords(a *report.Assessment) string {
	if a.Limit == nil || math.IsNaN(a.Posterior.PercentileAboveLimit) {
		return ""
	}
	return "The probability that it is above the limit is " + percent(a.Posterior.PercentileAboveLimit) + "."
}

func (p *panel) posterior(a *report.Assessment) {
	xs, ys := densityCurve(a.Curves.Density)
	p.axes(logTicks(p.x.low, p.x.high, 8), nil, concentration(a.Unit), "Density of the probability (per unit of ln concentration)")
	p.area(p.under(xs, ys, 0, math.Inf(1)), pale)
	if a.Limit != nil {
		p.area(p.under(xs, ys, a.Limit.Value, math.Inf(1)), shade)
		p.hatch(xs, ys, a.Limit.Value)
	}
	p.curve(fitLine, xs, ys)
	p.limitUpright(a, true)
	p.percentileUpright(a)
	p.tags(p.posteriorTags(a))
	p.edges()
}

func densityCurve(points []report.DensityPoint) (xs, ys []float64) {
	for _, d := range points {
		if finite(d.Density) && d.Concentration > 0 {
			xs = append(xs, d.Concentration)
			ys = append(ys, d.Density)
		}
	}
	return xs, ys
}

// under is the outline of what lies under a curve between two concentrations.
func (p *panel) under(xs, ys []float64, from, to float64) []vg.Point {
	var out []vg.Point
	add := func(x, y float64) { out = append(out, p.point(x, y)) }
	for i, x := range xs {
		if i > 0 && xs[i-1] < from && x >= from {
			add(from, 0)
			add(from, height(xs, ys, from))
		}
		if x >= from && x <= to {
			if len(out) == 0 {
				add(x, 0)
			}
			add(x, ys[i])
		}
	}
	if len(out) > 0 {
		last := out[len(out)-1]
		out = append(out, vg.Point{X: last.X, Y: vg.Length(p.y.from)})
	}
	return out
}

// height is the curve at x, 0 beyond its ends.
func height(xs, ys []float64, x float64) float64 {
	for i := 1; i < len(xs); i++ {
		if xs[i-1] <= x && x <= xs[i] {
			part := 0.0
			if xs[i] > xs[i-1] {
				part = math.Log(x/xs[i-1]) / math.Log(xs[i]/xs[i-1])
			}
			return ys[i-1] + part*(ys[i]-ys[i-1])
		}
	}
	return 0
}

// hatch draws upright lines under the curve above the limit.
func (p *panel) hatch(xs, ys []float64, limit float64) {
	const every = 5
	var lines [][4]float64
	low, high := math.Log(p.x.low), math.Log(p.x.high)
	for x := p.x.at(max(limit, p.x.low)) + every/2.0; x < p.x.to; x += every {
		v := math.Exp(low + (x-p.x.from)/(p.x.to-p.x.from)*(high-low))
		if y := p.y.at(height(xs, ys, v)); y > p.y.from+1 {
			lines = append(lines, [4]float64{x, p.y.from, x, y})
		}
	}
	p.segments(line{color: deep, width: 0.8}, lines...)
}

// percentileUpright marks the estimate and the limits of the percentile on the axis of concentrations.
func (p *panel) percentileUpright(a *report.Assessment) {
	v := a.Percentile
	if !(v.Estimate > 0) {
		return
	}
	y := p.y.from + 0.06*(p.y.to-p.y.from)
	p.lying(y, v.Lower, v.Upper)
	if p.x.holds(v.Estimate) {
		p.diamond(p.x.at(v.Estimate), y)
	}
}

// posteriorTags puts the probabilities in words.
func (p *panel) posteriorTags(a *report.Assessment) []tag {
	at := func(part float64) float64 { return p.y.from + part*(p.y.to-p.y.from) }
	tags := []tag{{at(0.06), percentileLines(a.Percentile), deepType, false, line{}}}
	if a.Limit == nil {
		return tags
	}
	if v := a.Posterior.PercentileAboveLimit; finite(v) {
		lines := []string{"above the limit " + percent(v), "(hatched)"}
		if !p.narrow() {
			lines = append(lines, bandLines(a.Posterior.Bands)...)
		}
		tags = append(tags, tag{at(0.85), lines, limitType, true, line{}})
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
