package fit

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/reading"
)

// data is a group on the scale of ln reading, reduced to what the likelihood needs: the detected readings through their
// weight, mean and sum of squares, and one term for each distinct censoring point. The weight of a reading is 1, or less
// when it is carried over from an earlier campaign.
type data struct {
	// exact is the total weight of the detected readings, with their mean and sum of squared deviations from it.
	exact, mean, squares float64
	// minimum and maximum of the detected logs.
	minimum, maximum float64
	// below, above and between are the censored readings, each distinct point once, ascending.
	below, above []bound
	between      []band
}

// bound is a one-sided censoring point and the weight of the readings that share it.
type bound struct{ at, weight float64 }

// band is a two-sided one.
type band struct{ lower, upper, weight float64 }

// newData reduces readings that all have the same weight. A band from 0 is a reading below its upper end. Terms are taken in
// ascending order of the readings, so that their order in the request never changes a bit of the answer.
func newData(readings []reading.Reading, weight float64) data {
	var d data
	logs := make([]float64, 0, len(readings))
	for i := range readings {
		switch r := &readings[i]; {
		case r.Kind == reading.Detected:
			logs = append(logs, math.Log(r.Lower))
		case r.Kind == reading.Above:
			d.above = append(d.above, bound{math.Log(r.Lower), weight})
		case r.Lower == 0:
			d.below = append(d.below, bound{math.Log(r.Upper), weight})
		default:
			d.between = append(d.between, band{math.Log(r.Lower), math.Log(r.Upper), weight})
		}
	}
	slices.Sort(logs)
	d.describe(logs, weight)
	d.below, d.above = mergeBounds(d.below), mergeBounds(d.above)
	d.between = mergeBands(d.between)
	return d
}

// describe fills the moments of the detected readings.
func (d *data) describe(logs []float64, weight float64) {
	if len(logs) == 0 {
		return
	}
	n := float64(len(logs))
	d.minimum, d.maximum = logs[0], logs[len(logs)-1]
	d.exact = n * weight
	if d.minimum == d.maximum {
		d.mean = d.minimum
		return
	}
	mean, sd := moments(logs)
	d.mean, d.squares = mean, sd*sd*(n-1)*weight
}

func mergeBounds(b []bound) []bound {
	slices.SortFunc(b, func(x, y bound) int { return cmp.Compare(x.at, y.at) })
	out := b[:0]
	for _, x := range b {
		if last := len(out) - 1; last >= 0 && out[last].at == x.at {
			out[last].weight += x.weight
			continue
		}
		out = append(out, x)
	}
	return out
}

func mergeBands(b []band) []band {
	slices.SortFunc(b, func(x, y band) int {
		return cmp.Or(cmp.Compare(x.lower, y.lower), cmp.Compare(x.upper, y.upper))
	})
	out := b[:0]
	for _, x := range b {
		if last := len(out) - 1; last >= 0 && out[last].lower == x.lower && out[last].upper == x.upper {
			out[last].weight += x.weight
			continue
		}
		out = append(out, x)
	}
	return out
}
