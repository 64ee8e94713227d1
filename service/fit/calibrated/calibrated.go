// Package calibrated reads confidence limits from the likelihood, adjusted to third order so that they cover as often as they say
// whatever the exposures, and without a prior.
package calibrated

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Pivot reads limits from the signed root r of the likelihood ratio, adjusted to third order so that it is standard normal
// whatever the exposures: the confidence that a quantity lies at or below a tested value is
//
//	Phi(r*),   r* = r + ln(u/r)/r,
//
// with u by Skovgaard's covariances (see adjustment). Nothing is simulated and no prior enters. The work is done on
// y = (ln reading - mu)/sigma with the estimates of mu and sigma, where the estimate is (0, 1).
//
// It is a confidence distribution and no posterior, yet is asked the same questions, so it answers as a posterior. With all
// readings detected the exact law is better, and package fit takes that.
//
// Source: Skovgaard (1996), Bernoulli 2, 145, "An explicit large-deviation approximation to one-parameter tests"; review in
// Brazzale, Davison and Reid (2007), Applied Asymptotics, section 8.5 (both from memory).
type Pivot struct {
	mu, sigma float64
	profile   likelihood.Profile
	adjustment
}

// New returns the confidence distributions from which limits with calibrated coverage are read. The readings must include
// one that is detected or lies between two bounds greater than 0, and the likelihood must have a maximum: otherwise an
// Undetermined fault says why.
func New(readings []reading.Reading) (*Pivot, error) {
	d := likelihood.NewData(readings, 1)
	peak, err := likelihood.Maximize(d)
	if err != nil {
		return nil, err
	}
	if d.OneSided() {
		return nil, fault.Unsettled("no reading has a value or lies between two bounds, so that the limits of the spread are not " +
			"determined: take readings that have a value")
	}
	return newPivot(&d, logsOf(readings), peak)
}

// newPivot takes the detected logs ascending.
func newPivot(d *likelihood.Data, logs []float64, peak likelihood.Maximum) (*Pivot, error) {
	s, standard := d.Standardized(peak.Mu, peak.Sigma), peak.Standardized()
	at := likelihood.Function{Data: &s}.At(0, 1)
	how := reportingOf(d, logs)
	standard.LogLikelihood = at.Value
	a, ok := newAdjustment(how.expectation(peak.Mu, peak.Sigma), at)
	if !ok {
		return nil, fault.Unsettled("the readings are so close together beside the limits and bounds that another sample like this one " +
			"would show no spread, so that limits cannot be calibrated: take readings that have a value, or use the posterior's limits")
	}
	return &Pivot{peak.Mu, peak.Sigma, likelihood.Profile{Data: &s, Peak: &standard}, a}, nil
}

// Below is Phi(r*) for the hypothesis mu + z sigma = q.
func (c *Pivot) Below(z, q float64) float64 { return numeric.NormalCDF(c.percentileRoot(z, q)) }

// Above is 1 - Phi(r*).
func (c *Pivot) Above(z, q float64) float64 {
	return numeric.NormalSurvival(c.percentileRoot(z, q))
}

func (c *Pivot) percentileRoot(z, q float64) float64 {
	return c.rootOf(percentileFamily{c.profile, z}, (q-c.mu)/c.sigma)
}

// SpreadBelow is the confidence that sigma <= value.
func (c *Pivot) SpreadBelow(value float64) float64 {
	return numeric.NormalCDF(c.rootOf(spreadFamily{c.profile}, math.Log(value/c.sigma)))
}

// LogMeanBelow is the confidence that mu + sigma²/2 <= value.
func (c *Pivot) LogMeanBelow(value float64) float64 {
	return numeric.NormalCDF(c.rootOf(meanFamily{c.profile, 0.5 * c.sigma}, (value-c.mu)/c.sigma))
}

// Quantile is the q with Phi(r*) = p.
func (c *Pivot) Quantile(z, p float64) (float64, error) {
	q, err := c.solve(percentileFamily{c.profile, z}, p)
	return c.mu + c.sigma*q, err
}

// Score is the z with Phi(r*) = p.
func (c *Pivot) Score(q, p float64) (float64, error) {
	return c.solve(scoreFamily{c.profile, (q - c.mu) / c.sigma}, p)
}

// Spread is the sigma with Phi(r*) = p.
func (c *Pivot) Spread(p float64) (float64, error) {
	lambda, err := c.solve(spreadFamily{c.profile}, p)
	return c.sigma * math.Exp(lambda), err
}

// LogMean is the mu + sigma²/2 with Phi(r*) = p.
func (c *Pivot) LogMean(p float64) (float64, error) {
	m, err := c.solve(meanFamily{c.profile, 0.5 * c.sigma}, p)
	return c.mu + c.sigma*m, err
}
