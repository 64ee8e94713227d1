package calibrated

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// reporting is how readings like those of the group would have been reported had they come out otherwise, which is what
// expectations are taken over.
//
// A reading below its limit shows the limit; one with a value does not. The share of each limit is therefore estimated from all
// readings by the product-limit estimate with the parts of reading and limit exchanged: a reading with a value y says that its
// limit was at or below y, as a reading below c says that its value was. With one limit and all values above it the share of
// that limit is 1. Tops of ranges are treated likewise.
//
// A band that starts at a reporting limit, or is the only one and holds no value, is taken for the range between detection and
// quantification. Any other tells that a part of the readings with a value have it only to within a band of that width, and counts
// as a value at its middle for the shares.
//
// Sources: Kaplan and Meier (1958), JASA 53, 457; the exchange, known as the reverse estimate, in Schemper and Smith (1996),
// Control Clin Trials 17, 343 (both from memory). The treatment of bands is our own.
type reporting struct {
	readings float64
	// low and high are the ways in which the lower and the upper end were reported, with their shares, which sum to 1.
	low  []lowEnd
	high []highEnd
	// coarse is the share of the values that are reported as bands of the given width, one of which starts at anchor.
	coarse, width, anchor float64
}

// lowEnd reports a reading under lower as below it, one from lower to upper as between them, and a larger one with its value.
// lower is -Inf when every small reading has its value.
type lowEnd struct{ lower, upper, share float64 }

// highEnd reports a reading over top as above it; top is +Inf when every large reading has its value.
type highEnd struct{ top, share float64 }

// reportingOf takes the detected logs ascending.
func reportingOf(d *likelihood.Data, logs []float64) reporting {
	r := reporting{readings: d.Exact + likelihood.WeightOf(d.Below) + likelihood.WeightOf(d.Above)}
	ends := make([]lowEnd, 0, len(d.Below)+len(d.Between)+1)
	for _, b := range d.Below {
		ends = append(ends, lowEnd{b.At, b.At, b.Weight})
	}
	values := slices.Clone(logs)
	for _, b := range d.Between {
		r.readings += b.Weight
		if quantification(d, b, logs) {
			ends = addQuantification(ends, b)
			continue
		}
		r.anchor = b.Lower
		r.width += b.Weight * (b.Upper - b.Lower)
		r.coarse += b.Weight
		for range int(b.Weight) {
			values = append(values, b.Lower+0.5*(b.Upper-b.Lower))
		}
	}
	if r.coarse > 0 {
		r.width /= r.coarse
		r.coarse /= r.coarse + d.Exact
		slices.Sort(values)
	}
	r.low, r.high = lowShares(ends, values), highShares(d.Above, values)
	return r
}

// quantification says whether a band is the range between detection and quantification.
func quantification(d *likelihood.Data, b likelihood.Band, logs []float64) bool {
	for _, l := range d.Below {
		if l.At == b.Lower {
			return true
		}
	}
	return len(d.Between) == 1 && len(logs) > 0 && under(logs, b.Lower) == under(logs, b.Upper)
}

// addQuantification adds the readings in the band, and makes the first of the bands at a reporting limit that of all readings
// below it.
func addQuantification(ends []lowEnd, b likelihood.Band) []lowEnd {
	for i := range ends {
		if e := &ends[i]; e.lower == b.Lower && e.upper == e.lower {
			e.upper = b.Upper
		}
	}
	return append(ends, lowEnd{b.Lower, b.Upper, b.Weight})
}

// lowShares turns weights into shares, the largest limit first.
func lowShares(ends []lowEnd, logs []float64) []lowEnd {
	slices.SortFunc(ends, func(x, y lowEnd) int {
		return cmp.Or(cmp.Compare(y.upper, x.upper), cmp.Compare(y.lower, x.lower))
	})
	// At risk of being this limit: the readings with this limit or a smaller one, and those with a value under it.
	risk := 0.0
	for _, e := range ends {
		risk += e.share
	}
	left := 1.0
	for i := range ends {
		e := &ends[i]
		weight := e.share
		e.share = left * weight / (risk + float64(under(logs, e.upper)))
		left -= e.share
		risk -= weight
	}
	if left > shareRounding {
		ends = append(ends, lowEnd{math.Inf(-1), math.Inf(-1), left})
	}
	return ends
}

// highShares lists the tops of ranges with their shares, the smallest first.
func highShares(above []likelihood.Bound, logs []float64) []highEnd {
	ends := make([]highEnd, 0, len(above)+1)
	risk := likelihood.WeightOf(above)
	left := 1.0
	for _, b := range above {
		share := left * b.Weight / (risk + float64(len(logs)-under(logs, b.At+2*tieMargin)))
		ends = append(ends, highEnd{b.At, share})
		left -= share
		risk -= b.Weight
	}
	if left > shareRounding {
		ends = append(ends, highEnd{math.Inf(1), left})
	}
	return ends
}

const (
	// shareRounding is what sums of shares may be off.
	shareRounding = 1e-12
	// tieMargin is the difference of logs under which a value counts as being at a limit: a change of units may move both by rounding.
	tieMargin = 1e-9
)

// under counts the ascending logs below a limit.
func under(logs []float64, limit float64) int {
	n, _ := slices.BinarySearch(logs, limit-tieMargin)
	return n
}

// expectation holds what is expected of the readings at the estimate, standardized: the sums of the powers 0 to 4 of those that
// get a value, and the ranges in which the others are reported.
type expectation struct {
	powers [5]float64
	ranges []expectedRange
}

// expectedRange is a range from lower to upper, either of which may be infinite, with the number of readings expected there, the
// log of its probability and the slopes of that by alpha and beta, all at the estimate.
type expectedRange struct {
	lower, upper, readings float64
	value, a, b            float64
}

// builder is an expectation in the making: ranges of several ways of reporting that are the same are kept once.
type builder struct {
	expectation
	known map[[2]float64]int
}

func (r *reporting) expectation(mu, sigma float64) expectation {
	e := builder{known: make(map[[2]float64]int, 2*len(r.low)+len(r.high))}
	width, anchor := r.width/sigma, (r.anchor-mu)/sigma
	coarse := r.coarse
	if width < fineWidth {
		coarse = 0
	}
	for _, l := range r.low {
		lower, upper, weight := (l.lower-mu)/sigma, (l.upper-mu)/sigma, r.readings*l.share
		e.addRange(math.Inf(-1), lower, weight)
		e.addRange(lower, upper, weight)
		for _, h := range r.high {
			top := max((h.top-mu)/sigma, upper)
			e.addValues(upper, top, weight*h.share*(1-coarse))
			if coarse > 0 {
				e.addBands(upper, top, weight*h.share*coarse, lattice{width, anchor})
			}
			e.addRange(top, math.Inf(1), weight*h.share)
		}
	}
	return e.expectation
}

const (
	// fineWidth is the width of bands, in standard deviations, that tell as much as values: they lose 1/12 of its square.
	fineWidth = 0.2
	// coarseReach is how far from the estimate, in standard deviations, bands are told apart.
	coarseReach = 6
)

// lattice is bands of one width side by side, one of which starts at anchor.
type lattice struct{ width, anchor float64 }

// addBands adds readings that are reported as bands of a lattice, cut at lower and upper.
func (e *builder) addBands(lower, upper, weight float64, g lattice) {
	from, to := max(lower, -coarseReach), min(upper, coarseReach)
	for edge := g.anchor + g.width*(math.Floor((from-g.anchor)/g.width)+1); edge < to; edge += g.width {
		e.addRange(lower, edge, weight)
		lower = edge
	}
	e.addRange(lower, upper, weight)
}

// addValues adds readings that get their value when it falls between lower and upper.
func (e *builder) addValues(lower, upper, weight float64) {
	from, to := powersAbove(lower), powersAbove(upper)
	for k := range e.powers {
		e.powers[k] += weight * (from[k] - to[k])
	}
}

// powersAbove is the expectation of y^k over y > w, k = 0 to 4, for a standard normal y.
func powersAbove(w float64) [5]float64 {
	phi := numeric.NormalDensity(w)
	above := numeric.NormalSurvival(w)
	if phi == 0 {
		return [5]float64{above, 0, above, 0, 3 * above}
	}
	second := above + w*phi
	return [5]float64{above, phi, second, (w*w + 2) * phi, 3*second + w*w*w*phi}
}

// addRange adds readings that are reported as a range when they fall into it.
func (e *builder) addRange(lower, upper, weight float64) {
	if !(lower < upper) {
		return
	}
	ends := [2]float64{lower, upper}
	i, ok := e.known[ends]
	if !ok {
		s := rangeTerm(lower, upper, 0, 1)
		i = len(e.ranges)
		e.known[ends] = i
		e.ranges = append(e.ranges, expectedRange{lower, upper, 0, s.Value, s.A, s.B})
	}
	r := &e.ranges[i]
	r.readings += weight * math.Exp(r.value)
}

// rangeTerm is the log-likelihood of one reading from lower to upper.
func rangeTerm(lower, upper, alpha, beta float64) likelihood.Surface {
	var s likelihood.Surface
	switch {
	case math.IsInf(lower, -1):
		s.AddTail(upper, 1, 1, likelihood.TailBelow(beta*upper-alpha))
	case math.IsInf(upper, 1):
		s.AddTail(lower, 1, -1, likelihood.TailBelow(alpha-beta*lower))
	default:
		return likelihood.BandTerm(lower+0.5*(upper-lower), 0.5*(upper-lower), alpha, beta)
	}
	return s
}

// logsOf returns the logs of the detected readings, ascending.
func logsOf(readings []reading.Reading) []float64 {
	logs := make([]float64, 0, len(readings))
	for i := range readings {
		if readings[i].Kind == reading.Detected {
			logs = append(logs, math.Log(readings[i].Lower))
		}
	}
	slices.Sort(logs)
	return logs
}
