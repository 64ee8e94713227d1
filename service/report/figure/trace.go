package figure

import (
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/report/figure/sheet"
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
	x := sheet.Scale{Onto: sheet.Linear, Low: sheet.Seconds(t.From), High: sheet.Seconds(t.To)}
	ticks, name := sheet.TimeTicks(x.Low, x.High)
	if name != "Start" {
		name = "Time" + name[len("Start"):]
	} else {
		name = "Date"
	}
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.UsualHeight,
		Title: titled("Trace", t.Zone, t.Agent),
		Subtitle: t.From.UTC().Format("2006-01-02 15:04") + " to " + t.To.UTC().Format("2006-01-02 15:04") +
			"; light: range of the logged values",
	}
	s.Description = s.Subtitle + ". " + t.spoken()
	p := panel{s.Panel(x, sheet.Scale{Onto: sheet.Linear, Low: 0, High: 1.06 * top}).Raised()}
	return s.Draw(w, f, func() { p.traced(t, ticks, name) })
}

// top is the largest value drawn. The full scale stretches it only a little.
func (t *TraceFigure) top() float64 {
	top := 0.0
	see := func(v float64) {
		if sheet.Finite(v) {
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
	if len(t.Averages) == 1 && sheet.Finite(t.Averages[0].Average) {
		words = "The average is " + withUnit(figures3(t.Averages[0].Average), t.Unit)
	}
	words += ", " + count(len(t.Gaps), "gap") + "."
	if sheet.Finite(t.Largest.Average) {
		words += " The largest 15-minute mean is " + withUnit(largestWords(t.Largest), t.Unit) + "."
	}
	return words
}

func (p panel) traced(t *TraceFigure, ticks []sheet.Tick, name string) {
	p.Axes(ticks, linearTicks(0, p.Y.High, 8), name, concentration(t.Unit))
	p.gaps(t)
	xs := make([]float64, len(t.Columns))
	rolling := make([]float64, len(t.Columns))
	width := (p.X.High - p.X.Low) / float64(len(t.Columns))
	for i, c := range t.Columns {
		xs[i], rolling[i] = p.X.Low+(float64(i)+0.5)*width, c.Rolling
	}
	p.envelope(t, xs)
	tags := p.sensor(t)
	p.Curve(sheet.Line{Color: sheet.Ink, Width: 1.4}, xs, rolling)
	tags = append(tags, p.averages(t)...)
	p.Tags(append(tags, p.rollingTag(t, rolling)...))
	p.Edges()
}

// envelope fills the range of the logged values of each column, and draws their mean where there is more than one.
func (p panel) envelope(t *TraceFigure, xs []float64) {
	var outline []vg.Point
	var low []float64
	half := (p.X.To - p.X.From) / float64(len(xs)) / 2
	flush := func() {
		if n := len(outline); n == 1 {
			// A column alone is as wide as it is.
			outline = []vg.Point{{X: outline[0].X - vg.Length(half), Y: outline[0].Y}, {X: outline[0].X + vg.Length(half), Y: outline[0].Y}}
			low = append(low, low[0])
		}
		for i, top := range slices.Backward(outline) {
			outline = append(outline, vg.Point{X: top.X, Y: vg.Length(low[i])})
		}
		// With an outline, so that a column of one value shows.
		p.RimmedArea(outline, sheet.Shade, sheet.Line{Color: sheet.Shade, Width: 1.4})
		outline, low = nil, nil
	}
	for i, c := range t.Columns {
		if !sheet.Finite(c.Minimum) || !sheet.Finite(c.Maximum) {
			flush()
			continue
		}
		outline = append(outline, p.Point(xs[i], max(c.Maximum, 0)))
		low = append(low, p.Y.At(max(c.Minimum, 0)))
	}
	flush()
}

// gaps hatches stretches without a value over the whole height.
func (p panel) gaps(t *TraceFigure) {
	const every, wide = 4, 26
	var lines [][4]float64
	for _, g := range t.Gaps {
		from, to := p.X.Within(sheet.Seconds(g.From)), p.X.Within(sheet.Seconds(g.To))
		for x := from; x <= to; x += every {
			lines = append(lines, [4]float64{x, p.Y.From, x, p.Y.To})
		}
		if to-from >= wide {
			p.Words((from+to)/2, p.Y.To+4, "gap", quietType.At(sheet.Middle))
		}
	}
	p.Segments(sheet.Line{Color: sheet.Frame, Width: 0.7, Dash: []vg.Length{2, 3}}, lines...)
}

// sensor draws what the sensor can see at least and at most.
func (p panel) sensor(t *TraceFigure) []sheet.Tag {
	var tags []sheet.Tag
	if v := t.DetectionLimit; v > 0 && p.Y.Holds(v) {
		y := p.Y.At(v)
		p.Segments(sheet.Line{Color: sheet.Quiet, Width: 1.2, Dash: []vg.Length{2, 3}}, [4]float64{p.X.From, y, p.X.To, y})
		tags = append(tags, tag(y, quietType, "detection limit "+withUnit(figures4(v), t.Unit)))
	}
	if v := t.FullScale; v > 0 && sheet.Finite(v) {
		y := p.Y.Within(v)
		words := "full scale " + withUnit(figures4(v), t.Unit)
		if p.Y.Holds(v) {
			p.Segments(sheet.Line{Color: sheet.Quiet, Width: 1.2, Dash: []vg.Length{9, 3, 2, 3}}, [4]float64{p.X.From, y, p.X.To, y})
		} else {
			words += " ↑"
		}
		tags = append(tags, tag(y, quietType, words))
	}
	return tags
}

// averages draws the average of each period as a step with its bounds, in strokes where it is not usable.
func (p panel) averages(t *TraceFigure) []sheet.Tag {
	var usable, unusable, edges [][4]float64
	for _, a := range t.Averages {
		if !sheet.Finite(a.Average) {
			continue
		}
		from, to, y := p.X.Within(sheet.Seconds(a.From)), p.X.Within(sheet.Seconds(a.To)), p.Y.Within(a.Average)
		step := [4]float64{from, y, to, y}
		if a.Usable {
			usable = append(usable, step)
		} else {
			unusable = append(unusable, step)
		}
		if a.Lower < a.Upper {
			middle := from + 0.85*(to-from) // Beside the number.
			edges = append(edges, [4]float64{middle, p.Y.Within(a.Lower), middle, p.Y.Within(a.Upper)})
		}
		if to-from >= 34 && len(t.Averages) > 1 {
			p.Words((from+to)/2, y+5, figures3(a.Average), deepType.At(sheet.Middle).Raised())
		}
	}
	p.Segments(sheet.Line{Color: sheet.Deep, Width: 3}, usable...)
	p.Segments(sheet.Line{Color: sheet.Deep, Width: 3, Dash: []vg.Length{5, 4}}, unusable...)
	p.Segments(thinLine, edges...)
	return p.averageTag(t, len(usable)+len(unusable), len(unusable))
}

// averageTag names the steps; a single one with its value.
func (p panel) averageTag(t *TraceFigure, drawn, unusable int) []sheet.Tag {
	if drawn == 0 {
		return nil
	}
	last := t.Averages[len(t.Averages)-1]
	for i := len(t.Averages) - 1; !sheet.Finite(last.Average); i-- {
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
	return []sheet.Tag{tag(p.Y.Within(last.Average), deepType, lines...)}
}

// rollingTag names the curve, and the largest mean.
func (p panel) rollingTag(t *TraceFigure, rolling []float64) []sheet.Tag {
	at := math.NaN()
	for _, v := range rolling {
		if sheet.Finite(v) {
			at = v
		}
	}
	lines := []string{"15-minute mean"}
	if t.DetectionLimit > 0 {
		lines = append(lines, "of the values as logged")
	}
	if !sheet.Finite(at) {
		lines = []string{"largest 15-minute mean"}
	}
	if l := t.Largest; sheet.Finite(l.Average) {
		words := withUnit(largestWords(l), t.Unit)
		if sheet.Finite(at) {
			words = "largest " + words
		}
		lines = append(lines, words, "from "+l.From.UTC().Format("2006-01-02 15:04"))
	} else if !sheet.Finite(at) {
		return nil
	}
	if !sheet.Finite(at) {
		return []sheet.Tag{{Y: p.Y.Within(0.8 * p.Y.High), Lines: lines, Look: bodyType.Strong(), Loose: true}}
	}
	return []sheet.Tag{tag(p.Y.Within(at), bodyType.Strong(), lines...)}
}

// largestWords is the largest mean with what is known of it.
func largestWords(l TraceSpan) string {
	switch {
	case math.IsInf(l.Upper, 1):
		return "over " + figures3(l.Lower)
	case l.Lower < l.Upper:
		return between(l.Lower, l.Upper)
	default:
		return figures3(l.Average)
	}
}
