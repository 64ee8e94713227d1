package sheet

import (
	"math"
	"strconv"

	"example.com/tailbound/service/numeric"
)

// Tick is a mark on a scale; one without a label is a smaller one.
type Tick struct {
	Value float64
	Label string
}

// Labeled are ticks at values, with what label writes of each.
func Labeled(values []float64, label func(float64) string) []Tick {
	ticks := make([]Tick, len(values))
	for i, v := range values {
		ticks[i] = Tick{v, label(v)}
	}
	return ticks
}

// PercentTicks mark the percentages that people know at their normal scores: one and two standard deviations on, and the tails. label writes a
// percentage.
func PercentTicks(low, high float64, label func(float64) string) []Tick {
	var ticks []Tick
	for _, p := range [...]float64{0.01, 0.1, 1, 5, 16, 50, 84, 95, 99, 99.9, 99.99} {
		if z := numeric.NormalQuantile(p / 100); z >= low && z <= high {
			ticks = append(ticks, Tick{z, label(p)})
		}
	}
	return ticks
}

// LogTicks mark 1, 2 and 5 of each decade, or 1 only, or only some decades, so that at most most of them are there. A range too
// short for three of them is divided evenly.
func LogTicks(low, high float64, most int) []float64 {
	decades := math.Log10(high) - math.Log10(low)
	switch {
	case !(low > 0) || !Finite(decades) || most < 1:
		return nil
	case 3*decades+1 <= float64(most):
		if ticks := decadeTicks(low, high, 1, 1, 2, 5); len(ticks) >= 3 {
			return ticks
		}
		return LinearTicks(low, high, min(most, 6))
	}
	var ticks []float64
	for _, step := range [...]int{1, 2, 3, 5, 10, 20, 50, 100, 200} {
		if ticks = decadeTicks(low, high, step, 1); len(ticks) <= most {
			break
		}
	}
	if len(ticks) < 2 && 3*(decades+1) <= float64(most) {
		return decadeTicks(low, high, 1, 1, 2, 5)
	}
	return ticks
}

// decadeTicks mark multiples of every step-th power of ten.
func decadeTicks(low, high float64, step int, multiples ...int) []float64 {
	var ticks []float64
	first := int(math.Floor(math.Log10(low)/float64(step))) * step
	for e := first; e <= int(math.Ceil(math.Log10(high))); e += step {
		for _, m := range multiples {
			// A number parsed is the nearest one, a product of powers is not.
			v, err := strconv.ParseFloat(strconv.Itoa(m)+"e"+strconv.Itoa(e), 64)
			if err == nil && v >= low && v <= high {
				ticks = append(ticks, v)
			}
		}
	}
	return ticks
}

// LinearTicks divide a range evenly by a step of 1, 2 or 5 times a power of ten, so that at most most marks are there.
func LinearTicks(low, high float64, most int) []float64 {
	span := high - low
	if !(span > 1e-9*math.Abs(high)) || !Finite(span) || most < 2 {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, m := range [...]float64{1, 2, 5, 10, 20} {
		if span/(m*step) <= float64(most-1) {
			step *= m
			break
		}
	}
	var ticks []float64
	for i := math.Ceil(low / step * (1 - 1e-9)); i*step <= high*(1+1e-9) && len(ticks) <= most; i++ {
		v := i * step
		if v == 0 {
			v = 0 // Not -0, which would be written so.
		}
		ticks = append(ticks, v)
	}
	return ticks
}
