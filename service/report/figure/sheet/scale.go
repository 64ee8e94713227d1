package sheet

import "math"

// Scale takes a quantity to its place on a sheet.
type Scale struct {
	// Onto makes the quantity one that is evenly divided: its logarithm, for instance.
	Onto func(float64) float64
	// Low and High are the ends in the quantity's own numbers, From and To those on the sheet.
	Low, High, From, To float64
}

// At is the place of v, which may lie outside. It is NaN where v has none.
func (s *Scale) At(v float64) float64 {
	low, high := s.Onto(s.Low), s.Onto(s.High)
	return s.From + (s.Onto(v)-low)/(high-low)*(s.To-s.From)
}

// Holds says whether v lies between the ends.
func (s *Scale) Holds(v float64) bool { return v >= s.Low && v <= s.High }

// Within is the place of v, or the end that is nearest.
func (s *Scale) Within(v float64) float64 { return s.At(max(s.Low, min(s.High, v))) }

// Linear is that of a quantity that is evenly divided itself.
func Linear(v float64) float64 { return v }

// Span is a range on a logarithmic scale around values. Values that are not positive and finite are left out; without any, Low is 0.
type Span struct{ Low, High float64 }

// Add has the range reach over values.
func (s *Span) Add(values ...float64) {
	for _, v := range values {
		if !(v >= 0x1p-1022) || math.IsInf(v, 1) {
			continue // A smaller number would have lost digits already.
		}
		if s.Low == 0 {
			s.Low, s.High = v, v
		}
		s.Low, s.High = min(s.Low, v), max(s.High, v)
	}
}

// Reach adds a value unless that would stretch the range by more than a factor.
func (s *Span) Reach(v, factor float64) {
	if s.Low > 0 && v >= s.Low/factor && v/factor <= s.High {
		s.Add(v)
	}
}

// Padded gives the range some room, and makes it a factor of 1.2 at least.
func (s *Span) Padded() Span {
	const least, room = 1.2, 0.05
	low, high := math.Log(s.Low), math.Log(s.High)
	spare := max(room*(high-low), (math.Log(least)-(high-low))/2)
	return Span{math.Exp(low - spare), min(math.Exp(high+spare), math.MaxFloat64)}
}

// Scale is the logarithmic scale of the range with some room; without a value, around 1.
func (s *Span) Scale() Scale {
	if s.Low == 0 {
		s.Add(1)
	}
	r := s.Padded()
	return Scale{Onto: math.Log, Low: r.Low, High: r.High}
}
