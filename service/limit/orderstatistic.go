package limit

import (
	"math"
	"slices"
	"sort"

	"example.com/tailbound/service/reading"
)

// OrderLimit is a one-sided confidence limit of a percentile that holds for any continuous distribution: a reading by its rank.
type OrderLimit struct {
	// Rank is that of the reading among all, 1 for the smallest; 0 when the readings are too few for any.
	Rank int
	// Value is the limit, in the unit of the readings. It is NaN without a rank, and for an upper limit also when the reading of
	// that rank may lie anywhere above a range; a lower limit is 0 when the reading may lie anywhere below a reporting limit.
	Value float64
	// Confidence is the one that the rank really gives, at least the one asked for; NaN without a rank.
	Confidence float64
	// Needed is the number of readings from which there is a rank: with so many the largest reading is the upper limit, or the
	// smallest the lower.
	Needed int
}

// PercentileByRank returns the distribution-free limits of a percentile: the smallest rank r with Pr(Bin(n, fraction) < r) >=
// confidence for the upper limit, and the largest r with Pr(Bin(n, fraction) >= r) >= confidence for the lower. It is what
// remains when the lognormal is rejected or cannot be fitted. fraction and confidence lie strictly between 0 and 1, otherwise
// there is no rank.
//
// A reading without a value counts on the safe side of each limit: by its upper end for the upper limit, by its lower end for
// the lower one. The ranks of those ends can only be further out than those of the true readings.
//
// Source: Conover (1999), Practical Nonparametric Statistics, section 3.2 (from memory); for the largest reading as the limit
// Wilks (1941), Annals of Mathematical Statistics 12, 91 (from memory).
func PercentileByRank(readings []reading.Reading, fraction, confidence float64) (lower, upper OrderLimit) {
	n := len(readings)
	lower = OrderLimit{Value: math.NaN(), Confidence: math.NaN(), Needed: ReadingsNeeded(1-fraction, confidence)}
	upper = OrderLimit{Value: math.NaN(), Confidence: math.NaN(), Needed: ReadingsNeeded(fraction, confidence)}
	if n == 0 || !inside(fraction) || !inside(confidence) {
		return lower, upper
	}
	// Pr(Bin <= r - 1) rises with r; Pr(Bin >= r) falls. Where one equals the confidence, as for the median, rounding must not
	// decide.
	const rounding = 1e-12
	wanted := confidence - rounding
	if r := 1 + sort.Search(n, func(k int) bool { return binomialAtMost(n, k, fraction) >= wanted }); r <= n {
		upper.Rank, upper.Confidence = r, binomialAtMost(n, r-1, fraction)
		upper.Value = finite(ends(readings, func(r *reading.Reading) float64 { return r.Upper })[r-1])
	}
	if r := sort.Search(n, func(k int) bool { return binomialAtLeast(n, k+1, fraction) < wanted }); r > 0 {
		lower.Rank, lower.Confidence = r, binomialAtLeast(n, r, fraction)
		lower.Value = ends(readings, func(r *reading.Reading) float64 { return r.Lower })[r-1]
	}
	return lower, upper
}

// ends returns one end of every reading, ascending.
func ends(readings []reading.Reading, end func(*reading.Reading) float64) []float64 {
	out := make([]float64, len(readings))
	for i := range readings {
		out[i] = end(&readings[i])
	}
	slices.Sort(out)
	return out
}

// ReadingsNeeded is the smallest n for which the largest of n readings is an upper limit of the percentile at confidence,
// 1 - fraction^n >= confidence. So many readings without one above a limit show as well, at that confidence, that a fraction
// of at least fraction of the exposures lies under it. It is 0 unless both arguments lie strictly between 0 and 1, or when
// the number is beyond an int32.
func ReadingsNeeded(fraction, confidence float64) int {
	if !inside(fraction) || !inside(confidence) {
		return 0
	}
	exact := math.Log1p(-confidence) / math.Log(fraction)
	if !(exact < math.MaxInt32) {
		return 0
	}
	// A product of rounded logarithms must not add a reading where the equation holds exactly, as for 1/2 and 3/4.
	const rounding = 1e-12
	return max(1, int(math.Ceil(exact*(1-rounding))))
}

// CountedExceedance is the fraction of exposures above a limit, from how many readings are above it.
type CountedExceedance struct {
	// Bounds are fractions 0..1. The estimate is NaN when Surely and Possibly differ.
	Bounds
	// Surely is the number of readings known to be above the limit, Possibly that of those that may be, of Readings.
	Surely, Possibly, Readings int
}

// ExceedanceByCount returns the limits of Clopper and Pearson (1934, Biometrika 26, 404; from memory) for the fraction of
// exposures above limit, which is in the unit of the readings. They hold for any distribution, at confidence or above. A
// reading without a value whose range holds the limit counts as under it for the lower limit and as above it for the upper.
// Without readings, or with a confidence that does not lie strictly between 0 and 1, the limits are 0 and 1.
func ExceedanceByCount(readings []reading.Reading, limit, confidence float64) CountedExceedance {
	n := len(readings)
	e := CountedExceedance{Bounds: Bounds{Estimate: math.NaN(), Lower: 0, Upper: 1}, Readings: n}
	for i := range readings {
		r := &readings[i]
		if r.Lower > limit || r.Kind == reading.Above && r.Lower == limit {
			e.Surely++
		}
		if r.Upper > limit {
			e.Possibly++
		}
	}
	if n == 0 || !inside(confidence) {
		return e
	}
	if e.Surely == e.Possibly {
		e.Estimate = float64(e.Surely) / float64(n)
	}
	e.Lower, e.Upper = binomialLower(n, e.Surely, confidence), binomialUpper(n, e.Possibly, confidence)
	return e
}
