package certify

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Reporting is how readings come to have no value.
type Reporting uint8

const (
	// Complete: every reading has a value.
	Complete Reporting = iota
	// OneLimit: one reporting limit for all readings.
	OneLimit
	// ThreeLimits: readings take turns with three reporting limits, 0.7 standard deviations of ln reading apart.
	ThreeLimits
	// OverRange: one reporting limit and one top of the range, half of the share censored by each.
	OverRange
	// Quantification: a limit of detection, and above it one of quantification between which and detection a reading is only known
	// to lie there, half of the share censored by each.
	Quantification
)

// String names the reporting in the table.
func (r Reporting) String() string {
	switch r {
	case Complete:
		return "complete"
	case OneLimit:
		return "one limit"
	case ThreeLimits:
		return "three limits"
	case OverRange:
		return "limit and top"
	case Quantification:
		return "detection and quantification"
	}
	return "unknown"
}

// limitGap is the distance between two of three reporting limits, in standard deviations.
const limitGap = 0.7

// Design is one kind of group.
type Design struct {
	// Readings is the size of the group, 2 or more.
	Readings int
	// Censored is the share of readings that is expected to have no value, 0 to 0.95; 0 when Complete.
	Censored  float64
	Reporting Reporting
	// Fine designs are for quick methods only.
	Fine bool
}

// String names the design.
func (d Design) String() string {
	return fmt.Sprintf("n = %d, %v, %.0f %% censored", d.Readings, d.Reporting, 100*d.Censored)
}

// generator returns the generator of random numbers of the design. Its seeds are the parts of the design, so that a design gives the
// same samples in whatever company.
func (d Design) generator() *rand.Rand {
	//nolint:gosec // A simulation must come out again.
	return rand.New(rand.NewPCG(uint64(d.Readings), uint64(math.Round(1000*d.Censored))<<8|uint64(d.Reporting)))
}

// edges returns the places, in standard deviations from the mean of ln reading, at which the kind of report changes.
func (d Design) edges() []float64 {
	switch d.Reporting {
	case OneLimit:
		return []float64{numeric.NormalQuantile(d.Censored)}
	case ThreeLimits:
		middle := d.middleLimit()
		return []float64{middle - limitGap, middle, middle + limitGap}
	case OverRange:
		c := numeric.NormalQuantile(d.Censored / 2)
		return []float64{c, -c}
	case Quantification:
		return []float64{numeric.NormalQuantile(d.Censored / 2), numeric.NormalQuantile(d.Censored)}
	default:
		return nil
	}
}

// middleLimit is where the middle one of three limits lies so that the expected share censored is right.
func (d Design) middleLimit() float64 {
	lower, upper := -8.0, 8.0
	for range 60 {
		middle := 0.5 * (lower + upper)
		expected := 0.0
		for i := range d.Readings {
			expected += numeric.NormalCDF(middle + limitGap*float64(i%3-1))
		}
		if expected < d.Censored*float64(d.Readings) {
			lower = middle
		} else {
			upper = middle
		}
	}
	return 0.5 * (lower + upper)
}

// sample is one drawn group: standard normal numbers, and the readings that they stand for at some spread.
type sample struct {
	design   Design
	edges    []float64
	numbers  []float64
	readings []reading.Reading
}

func newSample(d Design) *sample {
	return &sample{design: d, edges: d.edges(), numbers: make([]float64, d.Readings), readings: make([]reading.Reading, d.Readings)}
}

func (s *sample) draw(rng *rand.Rand) {
	for i := range s.numbers {
		s.numbers[i] = rng.NormFloat64()
	}
}

// at returns the readings for mu = 0 and the given sigma. They are valid until the next call.
func (s *sample) at(sigma float64) []reading.Reading {
	for i, x := range s.numbers {
		s.readings[i] = s.report(i, x, sigma)
	}
	return s.readings
}

func (s *sample) report(i int, x, sigma float64) reading.Reading {
	e := s.edges
	at := func(edge float64) float64 { return math.Exp(sigma * edge) }
	switch {
	case s.design.Reporting == ThreeLimits && x < e[i%3]:
		return reading.Under(at(e[i%3]))
	case s.design.Reporting != ThreeLimits && len(e) > 0 && x < e[0]:
		return reading.Under(at(e[0]))
	case s.design.Reporting == OverRange && x > e[1]:
		return reading.Over(at(e[1]))
	case s.design.Reporting == Quantification && x < e[1]:
		return reading.Within(at(e[0]), at(e[1]))
	}
	return reading.At(at(x))
}
