package fit

import (
	"math"

	"example.com/tailbound/service/fault"
)

// Influence says how far a prior moved the answer: the same numbers under the prior stated and under the reference prior.
type Influence struct {
	// Without says why the reference prior alone gives no answer, so that the answer rests on the prior stated. It is empty when it
	// gives one.
	Without string
	// UpperStated and UpperReference are the upper confidence limits of the percentile on the scale of ln reading, under either
	// prior. The second is NaN where Without says why.
	UpperStated, UpperReference float64
	// AboveStated and AboveReference are the probabilities that the percentile is above the limit, 0 to 1; NaN without a limit, the
	// second also where Without says why.
	AboveStated, AboveReference float64
}

// Moved is the factor by which the prior stated multiplied the upper confidence limit of the percentile; NaN where the reference prior
// gives none.
func (i Influence) Moved() float64 { return math.Exp(i.UpperStated - i.UpperReference) }

// inquiry is what is compared under two priors: the percentile at a normal score, its upper limit at a confidence, and the probability
// that it is above limit, the log of the limit; NaN for none.
type inquiry struct{ score, confidence, limit float64 }

// influence compares the posterior stated with that of the same readings under the reference prior.
func influence(d *data, stated Posterior, errorSpread float64, ask inquiry) (Influence, error) {
	i := Influence{AboveStated: math.NaN(), UpperReference: math.NaN(), AboveReference: math.NaN()}
	var err error
	if i.UpperStated, i.AboveStated, err = ask.of(stated); err != nil {
		return Influence{}, err
	}
	reference, err := referencePosterior(d, errorSpread)
	if fault.CodeOf(err) == fault.Undetermined {
		i.Without = err.Error()
		return i, nil
	}
	if err != nil {
		return Influence{}, err
	}
	i.UpperReference, i.AboveReference, err = ask.of(reference)
	return i, err
}

// of asks a posterior.
func (a inquiry) of(p Posterior) (upper, above float64, err error) {
	if upper, err = p.Quantile(a.score, a.confidence); err != nil {
		return 0, 0, err
	}
	if math.IsNaN(a.limit) {
		return upper, math.NaN(), nil
	}
	return upper, p.Above(a.score, a.limit), nil
}

// referencePosterior is the posterior of readings under the reference prior, exact when all have a value and no error.
func referencePosterior(d *data, errorSpread float64) (Posterior, error) {
	censored := len(d.below)+len(d.above)+len(d.between) > 0
	if n := int(d.exact); !censored && errorSpread == 0 && float64(n) == d.exact && n >= 2 && d.squares > 0 {
		return newExact(n, d.mean, math.Sqrt(d.squares/(d.exact-1)), nil), nil
	}
	q, err := newQuadrature(*d, Prior{}, errorSpread)
	if err != nil {
		return nil, err
	}
	return q, nil
}
