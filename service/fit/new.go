package fit

import (
	"math"

	"example.com/tailbound/service/fit/calibrated"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
)

// Options says how to fit. Its zero value is the default.
type Options struct {
	// Prior is what is believed before the readings; the zero value is the reference prior.
	Prior posterior.Prior
	// RelativeError is the standard deviation of the measurement error as a fraction of the true value, 0 to 1.
	RelativeError float64
	// Calibrated asks for calibrated limits in place of quantiles of the posterior, under the reference prior and without a
	// measurement error. It changes nothing where the limits are exact.
	Calibrated bool
	// Factors remembers what depends on the number of readings alone; may be nil.
	Factors *Factors
}

// New fits any mixture of readings under a prior that has passed its check. A fit that the readings do not determine is no
// error: its Status and Why say so.
func New(readings []reading.Reading, o Options) Fit {
	if o.Prior.IsReference() && o.RelativeError == 0 && allDetected(readings) {
		return Uncensored(readings, o.Factors)
	}
	f := Fit{N: len(readings), source: "posterior under the " + o.Prior.Name() + " prior"}
	d := likelihood.NewData(readings, 1)
	f.posterior(d, o)
	if o.Calibrated {
		f.calibrate(readings, o)
	}
	if f.Status == Fitted {
		f.point(d, o)
	}
	return f
}

func allDetected(readings []reading.Reading) bool {
	for i := range readings {
		if readings[i].Kind != reading.Detected {
			return false
		}
	}
	return true
}

// posterior fills the posterior and the limits, or the reason for which there are none.
func (f *Fit) posterior(d likelihood.Data, o Options) {
	q, err := posterior.New(d, o.Prior, posterior.LogErrorSpread(o.RelativeError))
	if err != nil {
		// An integral that fails is no answer either, and the rules that need no fit still are.
		f.Status, f.Why = Undetermined, err.Error()
		return
	}
	f.Posterior, f.Limits = q, q
}

// calibrate takes the limits from the calibrated pivot, which may answer where there is no posterior, and the other way round.
func (f *Fit) calibrate(readings []reading.Reading, o Options) {
	c, err := Calibrated(readings, o.Factors)
	if err != nil {
		f.Status, f.Why, f.Limits = Undetermined, err.Error(), nil
		return
	}
	f.Status, f.Limits, f.calibrated, f.source = Fitted, c, true, "calibrated pivot, the adjusted signed root of the likelihood ratio"
}

// point fills the point estimates: those of maximum likelihood where it has a maximum of its own, else the medians of the
// posterior, which carry the prior and the measurement error.
func (f *Fit) point(d likelihood.Data, o Options) {
	if o.Prior.IsReference() && o.RelativeError == 0 {
		if m, err := likelihood.Maximize(d); err == nil {
			f.Mu, f.Sigma, f.ml = m.Mu, m.Sigma, true
			return
		}
	}
	f.Mu, f.Sigma = math.NaN(), math.NaN()
	if mu, err := f.Posterior.Quantile(0, 0.5); err == nil {
		f.Mu = mu
	}
	if sigma, err := f.Posterior.Spread(0.5); err == nil {
		f.Sigma = sigma
	}
}

// Calibrated says that the limits are calibrated ones.
func (f *Fit) Calibrated() bool { return f.calibrated }

// Source names in words what the limits come from.
func (f *Fit) Source() string { return f.source }

// ML says that Mu and Sigma are the maximum-likelihood estimates.
func (f *Fit) ML() bool { return f.ml }

// Calibrated returns the confidence distributions from which limits with calibrated coverage are read. The readings must
// include one that is detected or lies between two bounds greater than 0, and the likelihood must have a maximum: otherwise an
// Undetermined fault says why. Unlike the posterior it needs but one such reading, because leaving samples out for what they
// happen to show would itself bend the coverage of the rest. factors may be nil.
func Calibrated(readings []reading.Reading, factors *Factors) (Limits, error) {
	if !allDetected(readings) {
		c, err := calibrated.New(readings)
		if err != nil {
			return nil, err
		}
		return c, nil
	}
	if _, err := likelihood.Maximize(likelihood.NewData(readings, 1)); err != nil {
		return nil, err
	}
	return Uncensored(readings, factors).Posterior, nil
}
