package likelihood

import "fmt"

// ProperUnderReference says whether the posterior under the reference prior, flat in mu and ln sigma, is proper; if not, reason
// says what would make it proper.
//
// The argument. Integrate the likelihood over mu and look at m(lambda), lambda = ln sigma, with weights of 1 for the readings
// of one campaign. For every sigma, m is finite as soon as one reading has a value or two bounds.
//
// Upwards, sigma -> infinity: a value has density of order 1/sigma and a band its width over sigma, at all mu within a few
// sigma, which themselves are a range of length sigma; one-sided readings tend to constants. So m ~ sigma^(1-w), w the weight
// of values and bands, and the tail is integrable in lambda exactly when w > 1: at least two values or bands.
//
// Downwards, sigma -> 0: if no value is compatible with all readings, every mu misses one of them by a fixed distance and m
// falls like exp(-c/sigma²). If one is:
//   - without values and with a common range of some length, the likelihood tends to 1 inside it and m to that length: not
//     integrable;
//   - without values and with ranges that only touch, m comes from mu within a few sigma of the common end: m ~ sigma;
//   - with values, all equal and of weight v, at that value: m ~ sigma^(1-v), integrable exactly when v < 1. One reading of
//     full weight is enough to spoil it; only readings carried over at a low weight are not.
//
// With full weights this is the rule of the reference table: values + bands >= 2, and the readings cannot all be one value.
func ProperUnderReference(d *Data) (ok bool, reason string) {
	if w := d.Informative(); !(w > 1+WeightRounding) {
		return false, fmt.Sprintf("the reference prior needs at least two readings that have a value or lie between two bounds above "+
			"0, and there %s: readings below a reporting limit or above a range do not bound the spread from above. Take readings "+
			"that have a value, lower the reporting limit, or state the bounded or the informed prior", countWeight(w))
	}
	floor, ceiling := d.common()
	switch {
	case floor > ceiling, d.Exact > 0 && d.Exact < 1-WeightRounding, d.Exact == 0 && floor == ceiling:
		return true, ""
	case len(d.Below)+len(d.Above)+len(d.Between) == 0:
		reason = "every reading has the same value"
	case d.Exact > 0:
		reason = "the readings with a value are all equal, or there is only one, and every other reading could have that value too"
	default:
		reason = "no reading has a value, and one single exposure would explain all of them"
	}
	return false, "the reference prior needs readings that cannot all be one value: " + reason + ", so nothing bounds the spread from " +
		"below. Take more readings, report more digits, lower the reporting limit, or state the bounded or the informed prior"
}

// WeightRounding is what sums of weights such as 0.1 may be off.
const WeightRounding = 1e-9

// Informative is the weight of the readings that bound the spread from above: those with a value or two bounds.
func (d *Data) Informative() float64 {
	w := d.Exact
	for _, b := range d.Between {
		w += b.Weight
	}
	return w
}

// countWeight says how many readings a weight stands for.
func countWeight(w float64) string {
	switch w {
	case 0:
		return "is none"
	case 1:
		return "is only one"
	}
	return fmt.Sprintf("are %.3g, counted by their weights", w)
}
