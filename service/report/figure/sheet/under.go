package sheet

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// Under is the outline of what lies under a curve between two of its xs, which run on a logarithmic scale.
func (p *Panel) Under(xs, ys []float64, from, to float64) []vg.Point {
	var out []vg.Point
	add := func(x, y float64) { out = append(out, p.Point(x, y)) }
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
		out = append(out, vg.Point{X: last.X, Y: vg.Length(p.Y.From)})
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

// Hatch draws upright lines under the curve from one of its xs on.
func (p *Panel) Hatch(l Line, xs, ys []float64, from float64) {
	const every = 5
	var lines [][4]float64
	low, high := math.Log(p.X.Low), math.Log(p.X.High)
	for x := p.X.At(max(from, p.X.Low)) + every/2.0; x < p.X.To; x += every {
		v := math.Exp(low + (x-p.X.From)/(p.X.To-p.X.From)*(high-low))
		if y := p.Y.At(height(xs, ys, v)); y > p.Y.From+1 {
			lines = append(lines, [4]float64{x, p.Y.From, x, y})
		}
	}
	p.Segments(l, lines...)
}
