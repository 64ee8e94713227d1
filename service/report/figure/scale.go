package figure

import (
	"math"
	"strconv"
	"strings"

	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// scale takes a quantity to its place on a sheet.
type scale struct {
	// onto makes the quantity one that is evenly divided: its logarithm, for instance.
	onto func(float64) float64
	// low and high are the ends in the quantity's own numbers, from and to those on the sheet.
	low, high, from, to float64
}

// at is the place of v, which may lie outside. It is NaN where v has none.
func (s *scale) at(v float64) float64 {
	low, high := s.onto(s.low), s.onto(s.high)
	return s.from + (s.onto(v)-low)/(high-low)*(s.to-s.from)
}

// holds says whether v lies between the ends.
func (s *scale) holds(v float64) bool { return v >= s.low && v <= s.high }

// within is the place of v, or the end that is nearest.
func (s *scale) within(v float64) float64 { return s.at(max(s.low, min(s.high, v))) }

func linear(v float64) float64 { return v }

// tick is a mark on a scale; one without a label is a smaller one.
type tick struct {
	value float64
	label string
}

// percentTicks mark the fractions that people know of a normal score: one and two standard deviations on, and the tails.
func percentTicks(low, high float64) []tick {
	var ticks []tick
	for _, p := range [...]float64{0.01, 0.1, 1, 5, 16, 50, 84, 95, 99, 99.9, 99.99} {
		if z := numeric.NormalQuantile(p / 100); z >= low && z <= high {
			ticks = append(ticks, tick{z, reading.Stated(p)})
		}
	}
	return ticks
}

// logTicks mark 1, 2 and 5 of each decade, or 1 only, or only some decades, so that at most most of them are there. A range too
// short for three of them is divided evenly.
func logTicks(low, high float64, most int) []tick {
	decades := math.Log10(high) - math.Log10(low)
	switch {
	case !(low > 0) || !finite(decades) || most < 1:
		return nil
	case 3*decades+1 <= float64(most):
		if ticks := decadeTicks(low, high, 1, 1, 2, 5); len(ticks) >= 3 {
			return ticks
		}
		return linearTicks(low, high, min(most, 6))
	}
	var ticks []tick
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
func decadeTicks(low, high float64, step int, multiples ...int) []tick {
	var ticks []tick
	first := int(math.Floor(math.Log10(low)/float64(step))) * step
	for e := first; e <= int(math.Ceil(math.Log10(high))); e += step {
		for _, m := range multiples {
			// A number parsed is the nearest one, a product of powers is not.
			v, err := strconv.ParseFloat(strconv.Itoa(m)+"e"+strconv.Itoa(e), 64)
			if err == nil && v >= low && v <= high {
				ticks = append(ticks, tick{v, number(v)})
			}
		}
	}
	return ticks
}

// linearTicks divide a range evenly by a step of 1, 2 or 5 times a power of ten, so that at most most marks are there.
func linearTicks(low, high float64, most int) []tick {
	span := high - low
	if !(span > 1e-9*math.Abs(high)) || !finite(span) || most < 2 {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, m := range [...]float64{1, 2, 5, 10, 20} {
		if span/(m*step) <= float64(most-1) {
			step *= m
			break
		}
	}
	var ticks []tick
	for i := math.Ceil(low / step * (1 - 1e-9)); i*step <= high*(1+1e-9) && len(ticks) <= most; i++ {
		v := i * step
		if v == 0 {
			v = 0 // Not -0, which would be written so.
		}
		ticks = append(ticks, tick{v, number(v)})
	}
	return ticks
}

// number writes a number as on a scale: without needless digits.
func number(v float64) string { return shortPower(reading.Stated(v)) }

// figures3 writes a result to three figures.
func figures3(v float64) string { return shortPower(reading.Figures(v, 3)) }

// figures4 writes a stated number that may have been converted: to four figures, without needless digits.
func figures4(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil {
		return number(v)
	}
	return number(rounded)
}

// shortPower takes the needless zeros and signs out of a power of ten.
func shortPower(text string) string {
	mantissa, power, found := strings.Cut(text, "e")
	if exponent, err := strconv.Atoi(power); found && err == nil {
		return mantissa + "e" + strconv.Itoa(exponent)
	}
	return text
}

// span is a range on a logarithmic scale around values. Values that are not positive and finite are left out; without any, low is 0.
type span struct{ low, high float64 }

func (s *span) add(values ...float64) {
	for _, v := range values {
		if !(v >= 0x1p-1022) || math.IsInf(v, 1) {
			continue // No concentration is smaller: it would have lost digits already.
		}
		if s.low == 0 {
			s.low, s.high = v, v
		}
		s.low, s.high = min(s.low, v), max(s.high, v)
	}
}

// reach adds a value unless that would stretch the range by more than a factor.
func (s *span) reach(v, factor float64) {
	if s.low > 0 && v >= s.low/factor && v/factor <= s.high {
		s.add(v)
	}
}

// marked leaves room for the marks of readings that lie beyond their bound.
func (s *span) marked(c reading.Counts) {
	const room = 0.06
	low, high := s.low, s.high
	if low == 0 {
		return
	}
	if c.Below > 0 {
		s.add(low / math.Pow(high/low, room))
	}
	if c.Above > 0 {
		s.add(high * math.Pow(high/low, room))
	}
}

// padded gives the range some room, and makes it a factor of 1.2 at least.
func (s *span) padded() span {
	const least, room = 1.2, 0.05
	low, high := math.Log(s.low), math.Log(s.high)
	spare := max(room*(high-low), (math.Log(least)-(high-low))/2)
	return span{math.Exp(low - spare), min(math.Exp(high+spare), math.MaxFloat64)}
}
