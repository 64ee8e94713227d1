package planning

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/numeric"
)

// SoFar is what the readings already taken say, on the scale of ln reading. Observed and Equivalent make it.
type SoFar struct {
	// readings is the number of readings, n the number of uncensored ones that say as much.
	readings, n int
	// mean and sd are the mean and the standard deviation, divisor n-1, of the logs.
	mean, sd float64
	// maximum is the log of the largest reading.
	maximum float64
	// Approximate says that censored readings were replaced by uncensored ones that say as much.
	Approximate bool
}

// Observed is 2 or more uncensored readings with the given mean, standard deviation (divisor n-1, greater than 0) and
// largest value of ln reading. What is predicted from it is exact.
func Observed(n int, mean, sd, maximum float64) (SoFar, error) {
	switch {
	case n < 2 || n > MaxSamples:
		return SoFar{}, fault.Invalid("readings", "got %d readings, want 2 to %d to predict from", n, MaxSamples)
	case !positive(sd) || math.IsInf(mean, 0) || mean != mean || maximum != maximum:
		return SoFar{}, fault.Unsettled("readings that do not differ tell nothing of the spread, so nothing can be predicted " +
			"from them; report more digits or measure with a finer resolution")
	}
	return SoFar{readings: n, n: n, mean: mean, sd: sd, maximum: maximum}, nil
}

// Equivalent stands for readings of any kind, censored ones included, by the uncensored readings whose posterior comes
// closest to theirs: the number n is the one whose spread between the 10th and the 90th percentile of the posterior of
// sigma is nearest in ratio, the standard deviation gives the same posterior median of sigma, and the mean the same
// posterior median of the 95th percentile. An uncensored posterior gives back its own readings. readings is how many there
// are, maximum the log of the largest detected one.
func Equivalent(p fit.Posterior, readings int, maximum float64) (SoFar, error) {
	low, err := p.Spread(0.1)
	if err != nil {
		return SoFar{}, err
	}
	middle, err := p.Spread(0.5)
	if err != nil {
		return SoFar{}, err
	}
	high, err := p.Spread(0.9)
	if err != nil {
		return SoFar{}, err
	}
	percentile, err := p.Quantile(score95(), 0.5)
	if err != nil {
		return SoFar{}, err
	}
	n := readingsOfSpread(math.Log(high / low))
	nu := float64(n - 1)
	sd := middle * math.Sqrt(numeric.ChiSquareQuantile(nu, 0.5)/nu)
	s, err := Observed(n, percentile-numeric.ToleranceFactor(n, fraction, 0.5)*sd, sd, maximum)
	s.readings, s.Approximate = readings, true
	return s, err
}

// readingsOfSpread is the n >= 2 for which ln of the ratio of the 90th to the 10th percentile of the posterior of sigma is
// nearest to wide. The ratio falls as n grows.
func readingsOfSpread(wide float64) int {
	width := func(n int) float64 {
		nu := float64(n - 1)
		return 0.5 * math.Log(numeric.ChiSquareQuantile(nu, 0.9)/numeric.ChiSquareQuantile(nu, 0.1))
	}
	lo, hi := 2, MaxSamples
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; width(mid) >= wide {
			lo = mid
		} else {
			hi = mid
		}
	}
	if width(lo)-wide > wide-width(hi) {
		return hi
	}
	return lo
}
