// Package fit turns a group of readings into a fitted lognormal: natural logs of readings are taken as independent draws of
// N(mu, sigma²). It gives the point estimates and the posterior from which every confidence limit is read; whether the
// lognormal holds at all is asked in package check.
package fit

import (
	"math"
	"slices"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/reading"
)

// Status says whether a lognormal could be fitted.
type Status uint8

const (
	// Fitted: estimates and posterior are there.
	Fitted Status = iota
	// TooFew: with fewer than two readings nothing is known of the spread.
	TooFew
	// NoSpread: all readings are equal, so the spread cannot be told from the resolution of the readings.
	NoSpread
	// Undetermined: too few readings have a value for the prior; Why says what would help.
	Undetermined
)

// Limits gives the levels from which confidence limits are read, on the scale of ln reading.
type Limits interface {
	// Quantile is the limit of mu + z sigma at level p, 0 < p < 1.
	Quantile(z, p float64) (float64, error)
	// Score is the z at which mu + z sigma has the limit q at level p; it falls as p rises.
	Score(q, p float64) (float64, error)
	// Spread is the limit of sigma at level p.
	Spread(p float64) (float64, error)
	// LogMean is the limit of mu + sigma²/2, the log of the arithmetic mean, at level p.
	LogMean(p float64) (float64, error)
}

// Posterior is the one function from which nearly every limit is read: G(z, q) = Pr(mu + z sigma <= q | readings).
// Its quantile in q at the normal score of a percentile gives the limits of that percentile, at z = 0 those of the
// geometric mean; read along z at q = ln limit it gives the limits of the exceedance fraction.
// All arguments and results are on the scale of ln reading. An implementation is safe for concurrent use.
type Posterior interface {
	// Below is G(z, q), in 0..1.
	Below(z, q float64) float64
	// Above is 1 - G(z, q), computed directly so that small values keep their digits.
	Above(z, q float64) float64
	// NumericalError is the largest estimated error of a probability so far; 0 where closed forms answer.
	NumericalError() float64
	// The limits are quantiles: Quantile is the q with G(z, q) = p, Score the z.
	Limits
}

// Fit is a lognormal fitted to a group.
type Fit struct {
	Status Status
	// N is the number of readings.
	N int
	// Values are the readings, ascending, and Logs their natural logs; nil unless every reading has a value.
	Values, Logs []float64
	// Mu and Sigma are the point estimates: mean and standard deviation (divisor N-1) of ln reading when Exact, else those of
	// maximum likelihood, or medians of the posterior where that has no maximum or a prior or a measurement error counts. Sigma
	// is 0 unless Fitted.
	Mu, Sigma float64
	// Posterior is nil unless Fitted; it may also be nil with calibrated limits, which ask less of the readings.
	Posterior Posterior
	// Limits answers for confidence limits: the posterior, or the calibrated pivot when that was asked for. Nil unless Fitted.
	Limits Limits
	// Exact says that the limits are the classical exact ones: every reading has a value, and nothing was asked for that moves
	// the answer.
	Exact bool
	// Why is the sentence of Undetermined.
	Why string

	source         string
	ml, calibrated bool
}

// Uncensored fits readings that all have a value. The mean and the sum of squares are taken in ascending order of the
// readings, so that their order in the request never changes a bit of the answer. factors may be nil.
func Uncensored(readings []reading.Reading, factors *Factors) Fit {
	f := Fit{N: len(readings), Values: make([]float64, len(readings)), Logs: make([]float64, len(readings))}
	for i := range readings {
		f.Values[i] = readings[i].Lower
	}
	slices.Sort(f.Values)
	for i, v := range f.Values {
		f.Logs[i] = math.Log(v)
	}
	switch {
	case f.N == 0:
		f.Status = TooFew
		return f
	case f.N == 1:
		f.Mu, f.Status = f.Logs[0], TooFew
		return f
	case f.Logs[0] == f.Logs[f.N-1]:
		f.Mu, f.Status = f.Logs[0], NoSpread
		return f
	}
	mean, sd := likelihood.Moments(f.Logs)
	f.determine(mean, sd, factors)
	return f
}

// FromMoments is the fit of n >= 2 readings of which only the mean and the standard deviation (divisor n-1, greater than 0)
// of ln reading are known.
func FromMoments(n int, mean, sd float64) Fit {
	f := Fit{N: n}
	f.determine(mean, sd, nil)
	return f
}

// determine fills a fit whose limits are exact.
func (f *Fit) determine(mean, sd float64, factors *Factors) {
	e := newExact(f.N, mean, sd, factors)
	f.Mu, f.Sigma, f.Posterior, f.Limits, f.Exact, f.source = mean, sd, e, e, true, "noncentral t"
}

// SigmaML is the maximum-likelihood standard deviation of ln reading: divisor N in place of N-1 when Exact.
func (f *Fit) SigmaML() float64 {
	if !f.Exact {
		return f.Sigma
	}
	n := float64(f.N)
	return f.Sigma * math.Sqrt((n-1)/n)
}
