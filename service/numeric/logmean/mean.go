package logmean

import (
	"errors"
	"math"
)

const (
	// minMeanReadings and maxMeanReadings bound the number of readings for the exact laws of the mean.
	minMeanReadings, maxMeanReadings = 2, 1_000_000
	// minLogSD and maxLogSD bound the standard deviation of ln reading. The logs of positive float64 values cannot spread
	// wider than 1029, and values that differ at all spread wider than 1e-20.
	minLogSD, maxLogSD = 1e-100, 1100
	// minLevel is the smallest tail for which the limits of the mean are checked.
	minLevel = 0x1p-20
)

// Reasons for which an estimate or a limit of the arithmetic mean is refused.
var (
	// ErrMeanReadings: fewer than 2 readings, or more than a million.
	ErrMeanReadings = errors.New("the arithmetic mean needs 2 to 1000000 readings")
	// ErrMeanLogs: the mean of ln reading is not finite, or the standard deviation not between 1e-100 and 1100.
	ErrMeanLogs = errors.New("the arithmetic mean needs a finite mean and a positive standard deviation of ln reading")
	// ErrMeanLevel: the probability of a limit is not between 2^-20, about a millionth, and 1 - 2^-20.
	ErrMeanLevel = errors.New("the probability of a limit of the mean must lie between a millionth and 0.999999")
)

func checkMean(n int, mean, sd float64) error {
	switch {
	case n < minMeanReadings || n > maxMeanReadings:
		return ErrMeanReadings
	// Written so that NaN is refused too.
	case !(math.Abs(mean) <= math.MaxFloat64) || !(sd >= minLogSD && sd <= maxLogSD):
		return ErrMeanLogs
	}
	return nil
}

func checkLevel(p float64) error {
	if !(p >= minLevel && p <= 1-minLevel) {
		return ErrMeanLevel
	}
	return nil
}

// LogUnbiased returns the natural log of the minimum-variance unbiased estimate of the arithmetic mean of a lognormal, from n
// uncensored readings whose natural logs have the given mean and standard deviation (divisor n-1),
//
//	mean + ln 0F1(; (n-1)/2; (n-1)² sd²/(4n)),
//
// which is finite for every input that is not refused.
//
// Source: Finney (1941), Supplement to the Journal of the Royal Statistical Society 7, 155 (from memory).
func LogUnbiased(n int, mean, sd float64) (float64, error) {
	if err := checkMean(n, mean, sd); err != nil {
		return 0, err
	}
	size := float64(n)
	return mean + logHypergeometric01(0.5*(size-1), (size-1)*(size-1)/(4*size)*sd*sd), nil
}

// logHypergeometric01 returns ln 0F1(; b; x) = ln(1 + x/b + x²/(2 b(b+1)) + ...) for b >= 1/2 and 0 <= x < 1e12. All terms
// are positive, so the sum loses nothing. It needs little more than sqrt(x) terms at most, and some twenty for any ordinary
// sample. Before it can overflow it is scaled down, and the scale is kept as a logarithm.
func logHypergeometric01(b, x float64) float64 {
	const large, logLarge, negligible = 0x1p500, 500 * math.Ln2, 1e-17
	one, rest, term, scale := 1.0, 0.0, 1.0, 0.0
	for j := 1.0; ; j++ {
		ratio := x / ((b + j - 1) * j)
		term *= ratio
		rest += term
		if ratio < 0.5 && term < negligible*(one+rest) {
			break
		}
		if term > large {
			one, rest, term, scale = one/large, rest/large, term/large, scale+logLarge
		}
	}
	if scale == 0 {
		// Keeps the digits of a sum barely above 1, as for readings that hardly spread.
		return math.Log1p(rest)
	}
	return scale + math.Log(one+rest)
}
