package likelihood

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/reading"
)

// Data is a group on the scale of ln reading, reduced to what the likelihood needs: the detected readings through their
// weight, mean and sum of squares, and one term for each distinct censoring point. The weight of a reading is 1, or less
// when it is carried over from an earlier campaign.
type Data struct {
	// Exact is the total weight of the detected readings, with their mean and sum of squared deviations from it.
	Exact, Mean, Squares float64
	// Minimum and maximum of the detected logs.
	Minimum, Maximum float64
	// Below, Above and Between are the censored readings, each distinct point once, ascending.
	Below, Above []Bound
	Between      []Band
}

// Bound is a one-sided censoring point and the weight of the readings that share it.
type Bound struct{ At, Weight float64 }

// Band is a two-sided one.
type Band struct{ Lower, Upper, Weight float64 }

// NewData reduces readings that all have the same weight. A band from 0 is a reading below its upper end. Terms are taken in
// ascending order of the readings, so that their order in the request never changes a bit of the answer.
func NewData(readings []reading.Reading, weight float64) Data {
	var d Data
	logs := make([]float64, 0, len(readings))
	for i := range readings {
		switch r := &readings[i]; {
		case r.Kind == reading.Detected:
			logs = append(logs, math.Log(r.Lower))
		case r.Kind == reading.Above:
			d.Above = append(d.Above, Bound{math.Log(r.Lower), weight})
		case r.Lower == 0:
			d.Below = append(d.Below, Bound{math.Log(r.Upper), weight})
		default:
			d.Between = append(d.Between, Band{math.Log(r.Lower), math.Log(r.Upper), weight})
		}
	}
	slices.Sort(logs)
	d.Describe(logs, weight)
	d.Below, d.Above = mergeBounds(d.Below), mergeBounds(d.Above)
	d.Between = mergeBands(d.Between)
	return d
}

// Describe fills the moments of the detected readings.
func (d *Data) Describe(logs []float64, weight float64) {
	if len(logs) == 0 {
		return
	}
	n := float64(len(logs))
	d.Minimum, d.Maximum = logs[0], logs[len(logs)-1]
	d.Exact = n * weight
	if d.Minimum == d.Maximum {
		d.Mean = d.Minimum
		return
	}
	mean, sd := Moments(logs)
	d.Mean, d.Squares = mean, sd*sd*(n-1)*weight
}

func mergeBounds(b []Bound) []Bound {
	slices.SortFunc(b, func(x, y Bound) int { return cmp.Compare(x.At, y.At) })
	out := b[:0]
	for _, x := range b {
		if last := len(out) - 1; last >= 0 && out[last].At == x.At {
			out[last].Weight += x.Weight
			continue
		}
		out = append(out, x)
	}
	return out
}

func mergeBands(b []Band) []Band {
	slices.SortFunc(b, func(x, y Band) int {
		return cmp.Or(cmp.Compare(x.Lower, y.Lower), cmp.Compare(x.Upper, y.Upper))
	})
	out := b[:0]
	for _, x := range b {
		if last := len(out) - 1; last >= 0 && out[last].Lower == x.Lower && out[last].Upper == x.Upper {
			out[last].Weight += x.Weight
			continue
		}
		out = append(out, x)
	}
	return out
}

// Moments returns the mean and the standard deviation (divisor n-1) by two passes, the second one corrected for the
// rounding of the first (Chan, Golub and LeVeque 1983).
func Moments(x []float64) (mean, sd float64) {
	n := float64(len(x))
	for _, v := range x {
		mean += v
	}
	mean /= n
	var squares, drift float64
	for _, v := range x {
		d := v - mean
		squares += d * d
		drift += d
	}
	return mean + drift/n, math.Sqrt((squares - drift*drift/n) / (n - 1))
}

// NothingAbove says whether no censored reading can lie above y.
func (d *Data) NothingAbove(y float64) bool {
	if len(d.Above) > 0 || len(d.Below) > 0 && d.Below[len(d.Below)-1].At > y {
		return false
	}
	for _, b := range d.Between {
		if b.Upper > y {
			return false
		}
	}
	return true
}

// NothingBelow says whether no censored reading can lie below y.
func (d *Data) NothingBelow(y float64) bool {
	return len(d.Below) == 0 && (len(d.Above) == 0 || d.Above[0].At >= y) && (len(d.Between) == 0 || d.Between[0].Lower >= y)
}
