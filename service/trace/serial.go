package trace

import "math"

// serial sums what the correlation of each value with the next one takes. Differences from the first value keep the digits.
type serial struct {
	n, pairs                      float64
	origin, previous              float64
	values, squares               float64
	products, formers, followings float64
	// end is where the previous value ends; only a value that begins there follows it.
	end int64
}

func (s *serial) add(start, end int64, v float64) {
	if s.n == 0 {
		s.origin = v
	}
	d := v - s.origin
	if s.n > 0 && s.end == start {
		s.pairs++
		s.products += s.previous * d
		s.formers += s.previous
		s.followings += d
	}
	s.n++
	s.values += d
	s.squares += d * d
	s.previous, s.end = d, end
}

// correlation returns the lag-1 autocorrelation, each pair about the mean of all values: covariance over pairs + 1, variance
// over n, as R's acf does with na.action = na.pass (from memory). NaN when the values do not vary or nothing follows anything.
func (s *serial) correlation() float64 {
	if s.pairs == 0 {
		return math.NaN()
	}
	mean := s.values / s.n
	variance := s.squares/s.n - mean*mean
	if !(variance > 1e-14*s.squares/s.n) {
		return math.NaN()
	}
	covariance := (s.products - mean*(s.formers+s.followings) + s.pairs*mean*mean) / (s.pairs + 1)
	return covariance / variance
}

// effective returns how many independent values would give a mean as certain as these do: n (1 − r)/(1 + r) for a series
// whose correlation falls off geometrically (Bayley and Hammersley 1946, from memory), from 1 to n. NaN without a correlation.
func (s *serial) effective() float64 {
	r := s.correlation()
	return min(max(s.n*(1-r)/(1+r), 1), s.n)
}
