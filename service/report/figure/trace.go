package figure

import (
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Trace draws one channel of a trace: the range of the logged values, the rolling 15-minute mean, the average of each period, gaps,
// and what the sensor can see. The error is as for Probability.
func Trace(w io.Writer, t *TraceFigure, f Format) error {
	if t == nil || len(t.Columns) == 0 || !t.To.After(t.From) {
		return missing("trace")
	}
	top := t.top()
	if !(top > 0) {
		return missing("values over 0 in the trace")
	}
	x := scale{onto: linear, low: seconds(t.From), high: seconds(t.To)}
	ticks, name := timeTicks(x.low, x.high)
	if name != "Start" {
		name = "Time" + name[len("Start"):]
	} else {
		name = "Date"
	}
	s := &sheet{
		width: sheetWidth, height: sheetHeight,
		title: titled("Trace", t.Zone, t.Agent),
		subtitle: t.From.UTC().Format("2006-01-02 15:04") + " to " + t.To.UTC().Format("2006-01-02 15:04") +
			"; shaded: range of the logged values",
	}
	s.description = s.subtitle + ". " + t.spoken()
	p := s.panel(x, scale{onto: linear, low: 0, high: 1.06 * top}).raised()
	return s.draw(w, f, func() { p.traced(t, ticks, name) })
}

// top is the largest value drawn. The full scale stretches it only a little.
func (t *TraceFigure) top() float64 {
	top := 0.0
	see := func(v float64) {
		if finite(v) {
			top = max(top, v)
		}
	}
	for _, c := range t.Columns {
		see(c.Maximum)
		see(c.Rolling)
	}
	for _, a := range t.Averages {
		see(a.Average)
		if a.Upper <= 2*top {
			see(a.Upper)
		}
	}
	if t.FullScale <= 1.5*top {
		see(t.FullScale)
	}
	if top == 0 {
		see(t.DetectionLimit)
	}
	return top
}

// spoken tells what the figure shows.
func (t *TraceFigure) spoken() string {
	words := count(len(t.Averages), "average")
	if len(t.Averages) == 1 && finite(t.Averages[0].Average) {
		words = "The average is " + withUnit(figures3(t.Averages[0].Average), t.Unit)
	}
	words += ", " + count(len(t.Gaps), "gap") + "."
	if finite(t.Largest.Average) {
		words += " The largest 15-minute mean is " + withUnit(figures3(t.Largest.Average), t.Unit) + "."
	}
	return words
}

func (p *panel) traced(t *TraceFigure, ticks []tick, name string) {
	p.axes(ticks, linearTicks(0, p.y.high, 8), name, concentration(t.Unit))
	p.gaps(t)
	xs := make([]float64, len(t.Columns))
	rolling := make([]float64, len(t.Columns))
	width := (p.x.high - p.x.low) / float64(len(t.Columns))
	for i, c := range t.Columns {
		xs[i], rolling[i] = p.x.low+(float64(i)+0.5)*width, c.Rolling
	}
	p.envelope(t, xs)
	tags := p.sensor(t)
	p.curve(line{color: ink, width: 1.4}, xs, rolling)
	tags = append(tags, p.averages(t)...)
	p.tags(append(tags, p.rollingTag(t, rolling)...))
	p.edges()
}

// envelope fills the range of the logged values of each column, and draws their mean where there is more than one.
func (p *panel) envelope(t *TraceFigure, xs []float64) {
	var outline []vg.Point
	var low []float64
	half := (p.x.to - p.x.from) / float64(len(xs)) / 2
	flush := func() {
		if n := len(outline); n == 1 {
			// A column alone is as wide as it is.
			outline = []vg.Point{{X: outline[0].X - vg.Length(half), Y: outline[0].Y}, {X: outline[0].X + vg.Length(half), Y: outline[0].Y}}
			low = append(low, low[0])
		}
		for i, top := range slices.Backward(outline) {
			// At least a hairline, where all values are one.
			outline = append(outline, vg.Point{X: top.X, Y: min(vg.Length(low[i]), top.Y-1)})
		}
		p.area(outline, shade)
		outline, low = nil, nil
	}
	for i, c := range t.Columns {
		if !finite(c.Minimum) || !finite(c.Maximum) {
			flush()
			continue
		}
		outline = append(outline, p.point(xs[i], max(c.Maximum, 0)))
		low = append(low, p.y.at(max(c.Minimum, 0)))
	}
	flush()
}

// gaps hatches stretches without a value over the whole height.
func (p *panel) gaps(t *TraceFigure) {
	const every, wide = 4, 26
	var lines [][4]float64
	for _, g := range t.Gaps {
		from, to := p.x.within(seconds(g.From)), p.x.within(seconds(g.To))
		for x := from; x <= to; x += every {
			lines = append(lines, [4]float64{x, p.y.from, x, p.y.to})
		}
		if to-from >= wide {
			p.words((from+to)/2, p.y.to+4, "gap", quietType.at(middle))
		}
	}
	p.segments(line{color: frame, width: 0.7, dash: []vg.Length{2, 3}}, lines...)
}

// sensor draws what the sensor can see at least and at most.
func (p *panel) sensor(t *TraceFigure) []tag {
	var tags []tag
	if v := t.DetectionLimit; v > 0 && p.y.holds(v) {
		y := p.y.at(v)
		p.segments(line{color: quiet, width: 1.2, dash: []vg.Length{2, 3}}, [4]float64{p.x.from, y, p.x.to, y})
		tags = append(tags, tag{y, []string{"detection limit " + withUnit(figures4(v), t.Unit)}, quietType, false, line{}})
	}
	if v := t.FullScale; v > 0 && finite(v) {
		y := p.y.within(v)
		words := "full scale " + withUnit(figures4(v), t.Unit)
		if p.y.holds(v) {
			p.segments(line{color: quiet, width: 1.2, dash: []vg.Length{9, 3, 2, 3}}, [4]float64{p.x.from, y, p.x.to, y})
		} else {
			words += " ↑"
		}
		tags = append(tags, tag{y, []string{words}, quietType, false, line{}})
	}
	return tags
}

// averages draws the average of each period as a step with its bounds, in strokes where it is not usable.
func (p *panel) averages(t *TraceFigure) []tag {
	var usable, unusable, edges [][4]float64
	for _, a := range t.Averages {
		if !finite(a.Average) {
			continue
		}
		from, to, y := p.x.within(seconds(a.From)), p.x.within(seconds(a.To)), p.y.within(a.Average)
		step := [4]float64{from, y, to, y}
		if a.Usable {
			usable = append(usable, step)
		} else {
			unusable = append(unusable, step)
		}
		if a.Lower < a.Upper {
			middle := from + 0.85*(to-from) // Beside the number.
			edges = append(edges, [4]float64{middle, p.y.within(a.Lower), middle, p.y.within(a.Upper)})
		}
		if to-from >= 34 && len(t.Averages) > 1 {
			p.words((from+to)/2, y+5, figures3(a.Average), deepType.at(middle))
		}
	}
	p.segments(line{color: deep, width: 3}, usable...)
	p.segments(line{color: deep, width: 3, dash: []vg.Length{5, 4}}, unusable...)
	p.segments(thinLine, edges...)
	return p.averageTag(t, len(usable)+len(unusable), len(unusable))
}

// averageTag names the steps; a single one with its value.
func (p *panel) averageTag(t *TraceFigure, drawn, unusable int) []tag {
	if drawn == 0 {
		return nil
	}
	last := t.Averages[len(t.Averages)-1]
	for i := len(t.Averages) - 1; !finite(last.Average); i-- {
		last = t.Averages[i]
	}
	lines := []string{"averages"}
	if drawn == 1 {
		lines = []string{"average " + withUnit(figures3(last.Average), t.Unit)}
	}
	if drawn == 1 && last.Lower < last.Upper {
		lines = append(lines, "between "+figures3(last.Lower)+" and "+figures3(last.Upper))
	}
	if unusable > 0 {
		lines = append(lines, "in strokes: too little covered")
	}
	return []tag{{p.y.within(last.Average), lines, deepType, false, line{}}}
}

// rollingTag names the curve, and the largest mean.
func (p *panel) rollingTag(t *TraceFigure, rolling []float64) []tag {
	lines := []string{"15-minute mean"}
	at := math.NaN()
	for _, v := range rolling {
		if finite(v) {
			at = v
		}
	}
	if finite(t.Largest.Average) {
		lines = append(lines, "largest "+withUnit(figures3(t.Largest.Average), t.Unit))
		lines = append(lines, "from "+t.Largest.From.UTC().Format("2006-01-02 15:04"))
	}
	if !finite(at) {
		return []tag{{p.y.within(0.8 * p.y.high), lines, bodyType.strong(), true, line{}}}
	}
	return []tag{{p.y.within(at), lines, bodyType.strong(), false, line{}}}
}
