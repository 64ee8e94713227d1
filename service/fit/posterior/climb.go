package posterior

import "math"

// climbMost bounds the search of climb.
const climbMost = 300

// climb looks for the top of the line, and for its width from the fall beside it. Width 0 means that there is nothing.
func (r *ruler) climb(s span) span {
	top := r.log(s.center)
	step := s.width
	for range climbMost {
		low, high := r.log(s.center-step), r.log(s.center+step)
		switch {
		case low > top && low >= high:
			s.center, top, step = s.center-step, low, 2*step
		case high > top:
			s.center, top, step = s.center+step, high, 2*step
		case math.IsInf(top, -1):
			return span{}
		default:
			// Beside an edge only the inner side counts.
			drop := top - max(low, high)
			if !math.IsInf(low, -1) && !math.IsInf(high, -1) {
				drop = top - 0.5*(low+high)
			}
			if drop < 1 {
				return span{s.center, step / math.Sqrt(2*max(drop, 0.02))}
			}
			step *= 0.5
		}
	}
	return span{s.center, step}
}

const (
	// waryReach is how far from home the top of a line is looked for, and waryPlaces at how many places.
	waryReach  = 16
	waryPlaces = 128
)

// highest returns the span about the highest of many places.
func (r *ruler) highest(guess span) span {
	from, to := max(r.lower, r.home-waryReach), min(r.upper, r.home+waryReach)
	r.inner = r.inner[:0]
	for k := range waryPlaces + 1 {
		r.inner = append(r.inner, from+(to-from)*float64(k)/waryPlaces)
	}
	top, at := math.Inf(-1), guess.center
	for i, l := range r.logs() {
		if l > top {
			top, at = l, r.inner[i]
		}
	}
	return r.climb(span{at, (to - from) / waryPlaces})
}
