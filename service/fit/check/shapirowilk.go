package check

import (
	"errors"
	"math"
	"slices"
)

// The sample sizes for which Royston's approximation of the null distribution of W holds.
const (
	minShapiroWilk = 3
	maxShapiroWilk = 5000
)

// Reasons for which a sample has no Shapiro–Wilk test.
var (
	// ErrShapiroWilkTooFew: fewer than 3 values; any two values lie on a straight line.
	ErrShapiroWilkTooFew = errors.New("the Shapiro-Wilk test needs at least 3 values")
	// ErrShapiroWilkTooMany: more than 5000 values, beyond the range of the published approximation.
	ErrShapiroWilkTooMany = errors.New("the Shapiro-Wilk test is defined for at most 5000 values")
	// ErrShapiroWilkNotFinite: a value is NaN or infinite.
	ErrShapiroWilkNotFinite = errors.New("the Shapiro-Wilk test needs finite values")
	// ErrShapiroWilkNotSorted: the values are not in ascending order.
	ErrShapiroWilkNotSorted = errors.New("the Shapiro-Wilk test needs values in ascending order")
	// ErrShapiroWilkAllEqual: all values are the same, or so nearly that their spread is lost to rounding.
	ErrShapiroWilkAllEqual = errors.New("the Shapiro-Wilk test needs values that differ")
)

// ShapiroWilk tests whether an ascending sample of 3 to 5000 finite values could come from a normal distribution. It
// returns W, the squared correlation of the sample with the weights of the test (near 1 for a normal sample), and the
// probability of a W at least as small as this when the sample is normal. The p-value is exact for n = 3 and Royston's
// approximation above. An error is one of the ErrShapiroWilk values; the sample is not changed.
//
// Source: Royston (1995), Applied Statistics 44, 547 (algorithm AS R94), after Shapiro and Wilk (1965); the coefficients are
// from memory and confirmed against R.
func ShapiroWilk(sorted []float64) (w, pValue float64, err error) {
	if err := checkShapiroWilk(sorted); err != nil {
		return 0, 0, err
	}
	n := len(sorted)
	var room [64]float64
	weights := appendShapiroWilkWeights(room[:0], n)
	w, lack := shapiroWilkStatistic(sorted, weights)
	if n == minShapiroWilk {
		return w, shapiroWilkExact(w, lack), nil
	}
	return w, shapiroWilkUpperTail(lack, n), nil
}

// checkShapiroWilk returns the reason for which the sample cannot be tested.
func checkShapiroWilk(sorted []float64) error {
	n := len(sorted)
	switch {
	case n < minShapiroWilk:
		return ErrShapiroWilkTooFew
	case n > maxShapiroWilk:
		return ErrShapiroWilkTooMany
	}
	for i, x := range sorted {
		// x-x is NaN for NaN and both infinities.
		if x-x != 0 {
			return ErrShapiroWilkNotFinite
		}
		if i > 0 && x < sorted[i-1] {
			return ErrShapiroWilkNotSorted
		}
	}
	// A half of each end keeps the range finite for any finite values.
	if 0.5*sorted[n-1]-0.5*sorted[0] < 1e-300 {
		return ErrShapiroWilkAllEqual
	}
	return nil
}

// appendShapiroWilkWeights appends the weights of the upper half of a sample of n, outermost first; the lower half has the
// same with the sign changed and a middle value has none. They are the normal scores scaled to length 1, with the
// outermost one or two replaced by Royston's polynomials in 1/sqrt(n).
func appendShapiroWilkWeights(dst []float64, n int) []float64 {
	if n == 3 {
		return append(dst, math.Sqrt2/2)
	}
	sum := 0.0
	for i := 1; i <= n/2; i++ {
		m := -blomScore(i, n)
		sum += 2 * m * m
		dst = append(dst, m)
	}
	u := 1 / math.Sqrt(float64(n))
	length := math.Sqrt(sum)
	first := polynomial(u, dst[0]/length, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056)
	rest, left := sum-2*dst[0]*dst[0], 1-2*first*first
	inner := 1
	if n > 5 {
		second := polynomial(u, dst[1]/length, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633)
		rest -= 2 * dst[1] * dst[1]
		left -= 2 * second * second
		dst[1] = second
		inner = 2
	}
	dst[0] = first
	scale := math.Sqrt(left / rest)
	for i := inner; i < len(dst); i++ {
		dst[i] *= scale
	}
	return dst
}

// shapiroWilkStatistic returns W and 1 - W, each to full relative accuracy: W near 1 would leave few digits in the
// difference, and the p-value hangs on it.
func shapiroWilkStatistic(sorted, weights []float64) (w, lack float64) {
	n := len(sorted)
	// Values are taken from the middle one and in units of the range, so that neither a large common part nor an extreme
	// unit costs digits.
	middle := sorted[n/2]
	scale := 1 / (0.5*sorted[n-1] - 0.5*sorted[0])
	at := func(i int) float64 { return (0.5*sorted[i] - 0.5*middle) * scale }
	mean := 0.0
	for i := range sorted {
		mean += at(i)
	}
	mean /= float64(n)
	squares, cross, weightSquares := 0.0, 0.0, 0.0
	for i := range sorted {
		d := at(i) - mean
		squares += d * d
	}
	for i, a := range weights {
		cross += a * (at(n-1-i) - at(i))
		weightSquares += 2 * a * a
	}
	length := math.Sqrt(squares * weightSquares)
	lack = (length - cross) * (length + cross) / (length * length)
	return 1 - lack, max(lack, 0)
}

// shapiroWilkExact returns the exact p-value for n = 3, (6/pi)(asin sqrt(W) - pi/3), where W lies in [3/4, 1]. The
// difference of the two angles is taken inside the sine, so that p keeps its digits near 0.
func shapiroWilkExact(w, lack float64) float64 {
	p := 6 / math.Pi * math.Asin(0.5*(math.Sqrt(w)-math.Sqrt(3*lack)))
	return min(max(p, 0), 1)
}

// shapiroWilkUpperTail returns the p-value for n >= 4 from 1 - W: a transform of ln(1 - W) is nearly normal, with mean and
// standard deviation that are polynomials in n up to 11 and in ln n from 12.
func shapiroWilkUpperTail(lack float64, n int) float64 {
	y, size := math.Log(lack), float64(n)
	var mean, logSD float64
	if n <= 11 {
		bound := -2.273 + 0.459*size
		if y >= bound {
			// W lies below what the transform reaches; the tail is empty to any printed digit.
			return 0
		}
		y = -math.Log(bound - y)
		mean = polynomial(size, 0.5440, -0.39978, 0.025054, -6.714e-4)
		logSD = polynomial(size, 1.3822, -0.77857, 0.062767, -0.0020322)
	} else {
		logSize := math.Log(size)
		mean = polynomial(logSize, -1.5861, -0.31082, -0.083751, 0.0038915)
		logSD = polynomial(logSize, -0.4803, -0.082676, 0.0030302)
	}
	return 0.5 * math.Erfc((y-mean)/math.Exp(logSD)/math.Sqrt2)
}

// polynomial returns c[0] + c[1] x + c[2] x^2 + ...
func polynomial(x float64, c ...float64) float64 {
	sum := 0.0
	for _, v := range slices.Backward(c) {
		sum = sum*x + v
	}
	return sum
}
