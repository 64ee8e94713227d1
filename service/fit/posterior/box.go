package posterior

import (
	"math"
	"slices"
)

const (
	// boxDoublings bounds the steps outward in search of the end of the density and boxBisections the steps back.
	boxDoublings  = 60
	boxBisections = 4
	// boxKink is the density, relative to the largest, under which a kink is passed over.
	boxKink = 1e-9
	// boxBound is the roughness that is let pass: quantiles far up a tail that a bound makes heavy need it small.
	boxBound = 4e-10
	// boxWidths is the number of standard deviations between the places where a normal density has fallen to outerCut.
	boxWidths = 14
)

// corners returns the values of the outer variable at the corners of the box, ascending. Between two of them the marginal is an
// analytic function; at them it may have a kink.
func (b *box) corners(c curve) []float64 {
	out := make([]float64, 0, 4)
	for _, mu := range [2]float64{b.muLower, b.muUpper} {
		for _, sigma := range [2]float64{b.sigmaLower, b.sigmaUpper} {
			outer, _ := c.locate(mu, math.Log(sigma))
			out = append(out, outer)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// boxed finds a marginal under a prior with hard bounds, in parts between the corners that matter.
func (f *density) boxed(a family, s summit) (*marginal, error) {
	corners := f.prior.box.corners(a.upper)
	lowest, highest := corners[0], corners[len(corners)-1]
	v := f.survey(a)
	outer, inner := a.upper.locate(s.mu, s.lambda)
	outer = min(max(outer, lowest), highest)
	center := v.upper.integrate(outer, v.upper.seed(outer, inner), lineSlack)
	v.peak = center.log
	lower, err := v.end(outer, center, -a.width, lowest)
	if err != nil {
		return nil, err
	}
	upper, err := v.end(outer, center, a.width, highest)
	if err != nil {
		return nil, err
	}
	edges := []float64{lowest}
	for _, c := range corners[1 : len(corners)-1] {
		if c > lower && c < upper && v.matters(c, center.span) {
			edges = append(edges, c)
		}
	}
	edges = append(edges, highest)
	if len(edges) == 2 && lower > lowest+a.width && upper < highest-a.width {
		if m, err := f.open(a, s); err == nil {
			return m, nil
		}
	}
	v.bound *= boxBound / outerBound
	// The peak so far is that of the density by the outer variable, not by x.
	v.peak = math.Inf(-1)
	return v.parts(edges, lower, upper, outer, center.span)
}

// matters says whether the density at a corner is large enough for a kink there to be seen.
func (v *survey) matters(corner float64, guess span) bool {
	l := v.upper.integrate(corner, guess, lineSlack)
	return !(l.log < v.peak+math.Log(boxKink))
}

// end looks for where the density has fallen off, from outer in the direction of step and not beyond the bound.
func (v *survey) end(outer float64, start line, step, bound float64) (float64, error) {
	inside, guess := outer, start.span
	low := math.Log(outerCut) - 2
	alive := func(at float64) (bool, error) {
		l := v.upper.integrate(at, guess, lineSlack)
		if math.IsNaN(l.log) {
			return false, errNoMarginal
		}
		v.peak = max(v.peak, l.log)
		if l.log > v.peak+low {
			guess = l.span
			return true, nil
		}
		return false, nil
	}
	for range boxDoublings {
		next := inside + step
		if step > 0 && next >= bound || step < 0 && next <= bound {
			next = bound
		}
		live, err := alive(next)
		if err != nil {
			return 0, err
		}
		if !live {
			return v.bisect(inside, next, alive)
		}
		if next == bound {
			return bound, nil
		}
		inside, step = next, 2*step
	}
	return bound, nil
}

// bisect closes in on the end from outside.
func (v *survey) bisect(inside, outside float64, alive func(float64) (bool, error)) (float64, error) {
	for range boxBisections {
		middle := 0.5 * (inside + outside)
		live, err := alive(middle)
		if err != nil {
			return 0, err
		}
		if live {
			inside = middle
		} else {
			outside = middle
		}
	}
	return outside, nil
}

// parts finds a marginal part by part between the edges; lower and upper are the ends of the density and outer is a place in its
// middle, where the line lies at guess.
func (v *survey) parts(edges []float64, lower, upper, outer float64, guess span) (*marginal, error) {
	parts := make([]*part, 0, len(edges)-1)
	width := (upper - lower) / boxWidths
	for i := range len(edges) - 1 {
		from, to := edges[i], edges[i+1]
		if to <= lower || from >= upper {
			continue
		}
		center := min(max(outer, from), to)
		w := warp{
			center: center, width: width, shape: shape{stretch: gridStretch},
			lower: (from - center) / width, upper: (to - center) / width,
		}
		p, err := v.begin(w, guess, guess)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	return v.smooth(parts)
}
