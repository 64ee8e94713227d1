package likelihood

import "math"

// obstacle says why the likelihood of a group has no maximum. As an error it is the sentence for the reader.
//
// The conditions are exact. Write the log-likelihood in Burridge's alpha and beta (see likelihood); it is concave, and its
// closure over beta >= 0 attains its maximum on a bounded set exactly when no direction leads upwards for ever (Rockafellar
// 1970, Convex Analysis, theorem 27.1; from memory). Along the direction (y, 1) the fitted distribution shrinks to the single
// point y: a reading in or at the end of whose range y lies gains or stays, and any other falls like -t². Along (-1, 0) and
// (1, 0) the location runs off, which all-below and all-above data allow, but these allow a shrinking direction too. So
//
//  1. the closure has a maximum exactly when no single value is compatible with every reading, the ends of a range counted
//     as compatible: the largest lower end lies above the smallest upper end, a detected reading being both.
//  2. At beta = 0, an infinite spread, a detected reading or a band has likelihood 0, so with one of them the maximum lies
//     inside. With one-sided readings only, beta = 0 gives m ln Phi(-alpha) + k ln Phi(alpha) for weights m below and k above,
//     largest where m and k pull equally. There the derivative by beta is the common pull times (mean of the below points -
//     mean of the above points), weighted: by concavity the maximum lies inside exactly when that is greater than 0.
//
// Where the maximum exists it is one point: a detected reading or a band bends the surface in every direction, and two
// different one-sided points, which 1 demands, do so together.
type obstacle uint8

const (
	noObstacle obstacle = iota
	noReadings
	allEqual
	allBelow
	allAbove
	equalWithinRanges
	commonRange
	separated
)

// Error returns the sentence for the reader: what the readings fail to say, and what would help.
func (o obstacle) Error() string {
	switch o {
	case noObstacle:
		return "the likelihood has a maximum"
	case noReadings:
		return "there are no readings"
	case allEqual:
		return "every reading has the same value, so nothing sets a floor to the spread: take more readings, or report more digits"
	case allBelow:
		return "every reading is below its reporting limit: the readings say how low the exposure is but not how it varies; " +
			"lower the reporting limit until at least two readings have a value"
	case allAbove:
		return "every reading is above its range: the readings say how high the exposure is but not how it varies; " +
			"measure with a wider range until at least two readings have a value"
	case equalWithinRanges:
		return "the readings with a value are all equal, or there is only one, and that value is possible for every other reading " +
			"too, so nothing sets a floor to the spread: take more readings, or lower the reporting limit"
	case commonRange:
		return "no reading has a value, and one single exposure would explain all of them, so nothing sets a floor to the spread: " +
			"take more readings, lower the reporting limit or widen the range"
	case separated:
		return "no reading has a value, and those above their range do not on the average lie lower than those below their " +
			"reporting limit, so nothing sets a ceiling to the spread: take readings that have a value"
	}
	return "the likelihood has no maximum"
}

// tieTolerance is the relative difference of two means of bounds that rounding of their logarithms can make.
const tieTolerance = 1e-13

// obstacle returns why the likelihood has no maximum, or noObstacle. All comparisons are between natural logs, which the
// likelihood sees too: equal numbers have equal logs.
func (d *Data) obstacle() obstacle {
	detected, ranges := d.Exact > 0, len(d.Below)+len(d.Above)+len(d.Between) > 0
	if !detected && !ranges {
		return noReadings
	}
	if floor, ceiling := d.common(); floor <= ceiling {
		return d.commonObstacle(detected, ranges)
	}
	if !detected && len(d.Between) == 0 && !d.overlaps() {
		return separated
	}
	return noObstacle
}

// commonObstacle names the case in which one value is compatible with every reading.
func (d *Data) commonObstacle(detected, ranges bool) obstacle {
	switch {
	case detected && !ranges:
		return allEqual
	case detected:
		return equalWithinRanges
	case len(d.Above)+len(d.Between) == 0:
		return allBelow
	case len(d.Below)+len(d.Between) == 0:
		return allAbove
	}
	return commonRange
}

// common returns the largest lower end and the smallest upper end of all readings. A value is compatible with every reading
// when it lies between them; there is none when floor > ceiling.
func (d *Data) common() (floor, ceiling float64) {
	floor, ceiling = math.Inf(-1), math.Inf(1)
	if d.Exact > 0 {
		floor, ceiling = d.Maximum, d.Minimum
	}
	if len(d.Below) > 0 {
		ceiling = min(ceiling, d.Below[0].At)
	}
	if len(d.Above) > 0 {
		floor = max(floor, d.Above[len(d.Above)-1].At)
	}
	for _, b := range d.Between {
		floor, ceiling = max(floor, b.Lower), min(ceiling, b.Upper)
	}
	return floor, ceiling
}

// overlaps says whether the mean of the below points lies above that of the above points by more than rounding.
func (d *Data) overlaps() bool {
	below, size := meanBound(d.Below)
	above, other := meanBound(d.Above)
	return below-above > tieTolerance*max(size, other)
}

// meanBound returns the weighted mean of points and their largest size.
func meanBound(points []Bound) (mean, size float64) {
	total := 0.0
	for _, p := range points {
		mean += p.Weight * p.At
		total += p.Weight
		size = max(size, math.Abs(p.At))
	}
	return mean / total, size
}
