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

// The quantiles of the posterior of the 95th percentile by which Equivalent goes.
const (
	equivalentLow  = 0.1
	equivalentHigh = 0.9
)

// Equivalent stands for readings of any kind, censored ones included, by the uncensored readings whose posterior of the
// 95th percentile comes closest to theirs: the number n is the one whose skewness is nearest, (q90 - q50)/(q50 - q10) of
// the quantiles of ln percentile, and mean and standard deviation give the same median and the same q90 - q10. An
// uncensored posterior gives back its own readings. readings is how many there are, maximum the log of the largest
// detected one.
//
// What is predicted from it is an approximation. Against the rules applied to the censored readings themselves the chances
// were off by 0.05 at the most with 6 of 10 and by 0.035 with 12 of 15 readings detected (measured); fewer than half
// detected can put them off by 0.1.
func Equivalent(p fit.Posterior, readings int, maximum float64) (SoFar, error) {
	var q [3]float64
	for i, level := range [...]float64{equivalentLow, 0.5, equivalentHigh} {
		var err error
		if q[i], err = p.Quantile(score95(), level); err != nil {
			return SoFar{}, err
		}
	}
	k := skewed((q[2] - q[1]) / (q[1] - q[0]))
	sd := (q[2] - q[0]) / (k.high - k.low)
	s, err := Observed(k.n, q[1]-k.middle*sd, sd, maximum)
	s.readings, s.Approximate = readings, true
	return s, err
}

// equivalentFactors are the tolerance factors at the three levels.
type equivalentFactors struct {
	n                 int
	low, middle, high float64
}

func newEquivalentFactors(n int) equivalentFactors {
	k := func(level float64) float64 { return numeric.ToleranceFactor(n, fraction, level) }
	return equivalentFactors{n, k(equivalentLow), k(0.5), k(equivalentHigh)}
}

// skewness is (q90 - q50)/(q50 - q10); it falls as n grows.
func (f equivalentFactors) skewness() float64 { return (f.high - f.middle) / (f.middle - f.low) }

// skewed returns the factors of the n >= 2 whose skewness is nearest in ratio.
func skewed(skewness float64) equivalentFactors {
	lo, hi := newEquivalentFactors(2), newEquivalentFactors(MaxSamples)
	for hi.n-lo.n > 1 {
		if mid := newEquivalentFactors((lo.n + hi.n) / 2); mid.skewness() >= skewness {
			lo = mid
		} else {
			hi = mid
		}
	}
	if lo.skewness()/skewness > skewness/hi.skewness() {
		return hi
	}
	return lo
}
