package trace

import "math"

// mostLags is how many values back the correlations look at most: half an hour of a logger of minutes. It bounds the memory of a
// channel and the work for a value.
const mostLags = 30

// serial sums what the correlations of each value with the ones after it take. Values are paired within a run, which a gap ends.
// Differences from the first value keep the digits.
type serial struct {
	n, origin       float64
	values, squares float64
	// products and sums are those of the pairs, by the lag less 1.
	products, sums [mostLags]float64
	// reached is how many values had so many before them in their run; the last entry stands for more as well.
	reached [mostLags + 1]float64
	// latest holds the latest values of the run twice, so that from newest on they lie in a row, the newest one first.
	latest [2 * mostLags]float64
	newest int
	run    int
	// end is where the previous value ends; only a value that begins there follows it.
	end int64
}

func (s *serial) add(start, end int64, v float64) {
	if s.n == 0 {
		s.origin = v
	}
	if s.end != start {
		s.run = 0
	}
	d := v - s.origin
	latest := s.latest[s.newest : s.newest+s.run]
	products, sums := s.products[:len(latest)], s.sums[:len(latest)]
	for i, before := range latest {
		products[i] += before * d
		sums[i] += before + d
	}
	s.reached[s.run]++
	s.n++
	s.values += d
	s.squares += d * d
	s.newest = (s.newest + mostLags - 1) % mostLags
	s.latest[s.newest], s.latest[s.newest+mostLags] = d, d
	s.run, s.end = min(s.run+1, mostLags), end
}

// correlations returns the autocorrelations of lag 1 and up, each pair about the mean of all values: covariance over the pairs
// plus the lag, variance over n, as R's acf does with na.action = na.pass (from memory), but that R also pairs values across a
// blank one. They end at 30 and at 10 log10(n) lags, R's default, and where no pair is left; there are none when the values do
// not vary.
func (s *serial) correlations() []float64 {
	if s.n < 2 {
		return nil
	}
	mean := s.values / s.n
	variance := s.squares/s.n - mean*mean
	if !(variance > 1e-14*s.squares/s.n) {
		return nil
	}
	pairs := s.n - s.reached[0]
	most := min(mostLags, int(10*math.Log10(s.n)))
	var out []float64
	for lag := 1; lag <= most && pairs > 0; lag++ {
		covariance := (s.products[lag-1] - mean*s.sums[lag-1] + pairs*mean*mean) / (pairs + float64(lag))
		out = append(out, covariance/variance)
		pairs -= s.reached[lag]
	}
	return out
}

// effective returns how many independent values would give a mean as certain as n with these correlations, from 1 to n, by the
// smaller of two sums. For a series whose correlation falls off geometrically it is n (1 − r)/(1 + r) (Bayley and Hammersley
// 1946, from memory). Where it falls off more slowly than that, it is n / (1 + 2 Σ r), summed by pairs of lags 2m and 2m + 1 up to
// the first pair that is not positive, the initial positive sequence of Geyer (1992). NaN without a correlation.
func effective(n float64, correlations []float64) float64 {
	if len(correlations) == 0 {
		return math.NaN()
	}
	r := correlations[0]
	worth := min(n*(1-r)/(1+r), n/inflation(correlations))
	return min(max(worth, 1), n)
}

// inflation is 1 + 2 Σ r over the initial positive sequence, at least the 1 of independent values.
func inflation(correlations []float64) float64 {
	total := 1 + 2*correlations[0]
	for i := 1; i+1 < len(correlations); i += 2 {
		pair := correlations[i] + correlations[i+1]
		if pair <= 0 {
			break
		}
		total += 2 * pair
	}
	return max(total, 1)
}

// lasting says whether the values still correlate at the longest lag that was looked at, by more than twice the standard error
// of a correlation of independent values, 2/√n: they are then worth even fewer.
func lasting(n float64, correlations []float64) bool {
	for i := 1; i+1 < len(correlations); i += 2 {
		if correlations[i]+correlations[i+1] <= 0 {
			return false
		}
	}
	last := len(correlations) - 1
	return last > 0 && correlations[last] > 2/math.Sqrt(n)
}
