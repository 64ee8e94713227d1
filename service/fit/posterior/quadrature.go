// Package posterior integrates likelihood times prior for a group with any mixture of readings, with or without a measurement
// error, and answers for the posterior of every quantity that limits are read from.
package posterior

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/likelihood"
)

// Quadrature is the posterior of a group with any mixture of readings, under any prior, by deterministic integration.
//
// Each quantity that is asked for, be it mu + z sigma for some z, the score of a limit, sigma or the log of the arithmetic mean, is
// the outer variable of a family of curves that fills the half-plane of mu and sigma. Its density at one value is the integral of
// likelihood times prior along one curve. Both integrals are trapezoid rules, in variables in which the integrand is nearly a normal
// density: such a rule converges like exp(-2 pi²/h²) in its spacing h in standard deviations, and a sum over every second node shows
// its error. The outer one keeps the density as a Fourier series, whose integral is the distribution function at any point. So a
// marginal is made once, of some 30 lines of some 20 nodes, and then answers any number of questions about its quantity; and no
// question meets a step or a kink, as it would if G were summed over a table for every z.
//
// The integral of the density over the whole half-plane is the same for every quantity, but each finds it on a grid of its own. What
// does not agree is refined and at last refused.
type Quadrature struct {
	f      density
	prior  Prior
	summit summit
	// spread is the marginal of lambda, the one against which the others are checked.
	spread *marginal

	mutex sync.Mutex
	found []finding
	// worst is the largest estimated error of the marginals so far.
	worst float64
}

// finding is a marginal already made, or the error that it met.
type finding struct {
	kind     Kind
	value    float64
	marginal *marginal
	err      error
}

// Kind is a kind of quantity.
type Kind uint8

const (
	// SpreadKind is ln sigma, which has no value of its own.
	SpreadKind Kind = iota
	// PercentileKind is mu + z sigma with the value z.
	PercentileKind
	// ScoreKind is (q - mu)/sigma with the value q.
	ScoreKind
	// MeanKind is mu + sigma²/2, which has no value of its own either.
	MeanKind
)

const (
	// findings bounds the marginals that are kept.
	findings = 128
	// mismatchBound is the estimated error of a probability, the relative difference of the integrals over the half-plane included,
	// that is not let pass, and refinements bounds how often a marginal is tried on finer grids before it is refused.
	mismatchBound = 1e-7
	refinements   = 3
	// leastTail is the least power with which Pr(sigma > s) must fall for its tail to be followed to the end: below it sigma passes the
	// range of a float64 first. It matters only for readings carried over at a low weight. weakTail is the power under which a failure
	// is put down to the readings.
	leastTail, weakTail = 0.1, 1
)

var errMismatch = errors.New("posterior: a marginal of the posterior is not as exact as promised")

// New returns the posterior of a group under a prior that has passed its check. errorSpread is the standard deviation of
// the measurement error of ln reading, see LogErrorSpread, or 0; the posterior is that of the true exposures. The error is an
// Undetermined fault when the prior and the readings do not make a proper posterior.
func New(d likelihood.Data, prior Prior, errorSpread float64) (*Quadrature, error) {
	return newFine(d, prior, errorSpread, 1)
}

// newFine divides the spacing of every first grid by fineness.
func newFine(d likelihood.Data, prior Prior, errorSpread, fineness float64) (*Quadrature, error) {
	d = prior.carry(d)
	if err := prior.proper(&d, errorSpread); err != nil {
		return nil, err
	}
	origin, spread := d.Rough()
	q := &Quadrature{prior: prior, f: density{
		d: d.From(origin), origin: origin, errorVariance: errorSpread * errorSpread, prior: prior.density(origin), fineness: fineness,
	}}
	q.f.plain = q.f.prior.reference && errorSpread == 0
	q.summit = q.f.top(spread)
	if q.f.prior.reference && q.f.d.Informative()-1 < leastTail {
		return nil, q.refused(nil)
	}
	m, err := q.find(SpreadKind, 0)
	if err != nil {
		return nil, err
	}
	q.spread, q.worst = m, m.err
	return q, nil
}

// refused is the error when the posterior could not be integrated.
func (q *Quadrature) refused(cause error) error {
	if w := q.f.d.Informative(); q.f.prior.reference && w-1 < weakTail-likelihood.WeightRounding {
		return &fault.Error{Code: fault.Undetermined, Cause: cause, Text: fmt.Sprintf("the readings that have a value or lie between two "+
			"bounds weigh only %.3g together, too little to bound the spread: raise the weight of the earlier readings, take more, or "+
			"state the bounded or the informed prior", w)}
	}
	return fault.Wrap(cause, "the posterior of these readings could not be integrated to the accuracy promised")
}

// proper returns why prior and readings do not make a proper posterior.
func (p Prior) proper(d *likelihood.Data, errorSpread float64) error {
	if p.Bounded != nil || p.Informed != nil {
		return nil
	}
	ok, reason := likelihood.ProperUnderReference(d)
	// A measurement error bounds the observed spread from below whatever the readings; see errormodel.go.
	if ok || errorSpread > 0 && d.Informative() > 1+likelihood.WeightRounding {
		return nil
	}
	return fault.Unsettled("%s", reason)
}

// top finds the summit. Where the readings say little the search starts from the prior.
func (f *density) top(spread float64) summit {
	switch p := &f.prior; {
	case p.flat:
		return f.boxSummit()
	case !p.reference && f.d.Exact < 1:
		return f.summit(p.mu, p.lambda)
	}
	if spread == 0 {
		// All readings equal, or nearly: the measurement error or the prior decides.
		spread = max(math.Sqrt(f.errorVariance), math.Exp(f.prior.lambda))
	}
	return f.summit(0, math.Log(spread))
}

// of returns the marginal of a quantity.
func (q *Quadrature) of(k Kind, value float64) (*marginal, error) {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	for i := range q.found {
		if f := &q.found[i]; f.kind == k && f.value == value {
			return f.marginal, f.err
		}
	}
	m, err := q.find(k, value)
	if err == nil {
		q.worst = max(q.worst, m.err)
	}
	if len(q.found) < findings {
		q.found = append(q.found, finding{k, value, m, err})
	}
	return m, err
}

// find makes the marginal of a quantity.
func (q *Quadrature) find(k Kind, value float64) (*marginal, error) {
	fineness := q.f.fineness
	defer func() { q.f.fineness = fineness }()
	a := q.family(k, value)
	for range refinements {
		m, err := q.f.marginal(a, q.summit)
		if err != nil {
			return nil, q.refused(err)
		}
		if q.spread != nil {
			m.err += math.Abs(math.Expm1(m.log() - q.spread.log()))
		}
		if m.err <= mismatchBound {
			return m, nil
		}
		q.f.fineness *= 2
	}
	return nil, q.refused(errMismatch)
}

func (q *Quadrature) family(k Kind, value float64) family {
	switch k {
	case PercentileKind:
		return q.f.percentile(&q.summit, value)
	case ScoreKind:
		return q.f.score(&q.summit, value)
	case MeanKind:
		return q.f.mean(&q.summit)
	default:
		return q.f.spread(&q.summit)
	}
}

// marginal finds the marginal of a family.
func (f *density) marginal(a family, s summit) (*marginal, error) {
	if f.prior.flat {
		return f.boxed(a, s)
	}
	m, err := f.open(a, s)
	if err == nil {
		return m, nil
	}
	// A prior at odds with the readings, or readings of which some huddle together, can give a line two tops.
	a.wary = true
	if m, err = f.open(a, s); err == nil {
		return m, nil
	}
	// The shapes are made for what readings usually say; any tail is reached without them, if more slowly.
	a.outer, a.inner = shape{stretch: wideStretch}, shape{stretch: wideStretch}
	return f.open(a, s)
}

// Below is G(z, q). It is NaN when the posterior could not be integrated; Quantile then returns the error.
func (q *Quadrature) Below(z, at float64) float64 {
	m, err := q.of(PercentileKind, z)
	if err != nil {
		return math.NaN()
	}
	return m.below(at - q.f.origin)
}

// Above is 1 - G(z, q). It is off by 1e-15 or more, so that smaller probabilities have no digits. It is NaN where Below is.
func (q *Quadrature) Above(z, at float64) float64 {
	m, err := q.of(PercentileKind, z)
	if err != nil {
		return math.NaN()
	}
	return m.above(at - q.f.origin)
}

// Quantile is the q with G(z, q) = p.
func (q *Quadrature) Quantile(z, p float64) (float64, error) {
	v, err := q.quantile(PercentileKind, z, p)
	return v + q.f.origin, err
}

// farScore is the score from which readings so close together leave it to the spread alone: mu no longer changes a digit that a
// normal probability shows.
const farScore = 1e6

// Score is the z with G(z, q) = p.
func (q *Quadrature) Score(at, p float64) (float64, error) {
	at -= q.f.origin
	away := at - q.summit.mu
	if math.Abs(away) <= farScore*math.Exp(q.summit.lambda) {
		return q.quantile(ScoreKind, at, 1-p)
	}
	if away < 0 {
		p = 1 - p
	}
	sigma, err := q.Spread(p)
	return away / sigma, err
}

// LogMean is the p-quantile of mu + sigma²/2.
func (q *Quadrature) LogMean(p float64) (float64, error) {
	v, err := q.quantile(MeanKind, 0, p)
	return v + q.f.origin, err
}

// Spread is the p-quantile of sigma.
func (q *Quadrature) Spread(p float64) (float64, error) {
	v, err := q.spread.quantile(p)
	if err != nil {
		return 0, q.refused(err)
	}
	return math.Exp(v), nil
}

func (q *Quadrature) quantile(k Kind, value, p float64) (float64, error) {
	m, err := q.of(k, value)
	if err != nil {
		return 0, err
	}
	v, err := m.quantile(p)
	if err != nil {
		return 0, q.refused(err)
	}
	return v, nil
}

// NumericalError is the largest estimated error of a probability among the quantities asked for so far, that of sigma included. It
// is at most 1e-7 and usually below 1e-8; that of a quantile is this over the density there.
func (q *Quadrature) NumericalError() float64 {
	q.mutex.Lock()
	defer q.mutex.Unlock()
	return q.worst
}
