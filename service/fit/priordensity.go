package fit

import "math"

// box is where the density is not zero: mu and sigma within bounds.
type box struct{ muLower, muUpper, sigmaLower, sigmaUpper float64 }

// priorDensity is a prior in the measure dmu dlambda, lambda = ln sigma.
type priorDensity struct {
	// reference says that the prior is flat there: 1/sigma in (mu, sigma).
	reference bool
	// flat says that it is flat in (mu, sigma) within the box; who integrates keeps inside.
	flat bool
	box  box
	// Otherwise mu and lambda are normal with these means and precisions (reciprocals of the variance).
	mu, muPrecision, lambda, lambdaPrecision float64
}

// density puts the prior on the scale of ln reading, mu measured from the origin.
func (p Prior) density(origin float64) priorDensity {
	switch {
	case p.Bounded != nil:
		b := p.Bounded
		return priorDensity{flat: true, box: box{
			muLower: math.Log(b.GeometricMeanLower) - origin, muUpper: math.Log(b.GeometricMeanUpper) - origin,
			sigmaLower: math.Log(b.GeometricStandardDeviationLower), sigmaUpper: math.Log(b.GeometricStandardDeviationUpper),
		}}
	case p.Informed != nil:
		i := p.Informed
		m, l := math.Log(i.GeometricMeanFactor), math.Log(i.GeometricStandardDeviationFactor)
		return priorDensity{
			mu: math.Log(i.GeometricMean) - origin, muPrecision: 1 / (m * m),
			lambda: math.Log(math.Log(i.GeometricStandardDeviation)), lambdaPrecision: 1 / (l * l),
		}
	}
	return priorDensity{reference: true}
}

// log is the logarithm of the density, up to a constant.
func (p *priorDensity) log(mu, lambda float64) float64 {
	switch {
	case p.reference:
		return 0
	case p.flat:
		return lambda
	}
	x, y := mu-p.mu, lambda-p.lambda
	return -0.5 * (x*x*p.muPrecision + y*y*p.lambdaPrecision)
}

// with adds the readings that the prior carries over.
func (d data) with(p Prior) data {
	if p.Carried == nil || p.Carried.Weight == 0 {
		return d
	}
	e := newData(p.Carried.Readings, p.Carried.Weight)
	sum := pooled(&d, &e)
	sum.below = mergeBounds(append(append(make([]bound, 0, len(d.below)+len(e.below)), d.below...), e.below...))
	sum.above = mergeBounds(append(append(make([]bound, 0, len(d.above)+len(e.above)), d.above...), e.above...))
	sum.between = mergeBands(append(append(make([]band, 0, len(d.between)+len(e.between)), d.between...), e.between...))
	return sum
}

// pooled combines the moments of the detected readings of two groups.
func pooled(a, b *data) data {
	switch {
	case b.exact == 0:
		return data{exact: a.exact, mean: a.mean, squares: a.squares, minimum: a.minimum, maximum: a.maximum}
	case a.exact == 0:
		return pooled(b, a)
	}
	n := a.exact + b.exact
	apart := b.mean - a.mean
	return data{
		exact: n, mean: a.mean + apart*b.exact/n, squares: a.squares + b.squares + apart*apart*a.exact*b.exact/n,
		minimum: min(a.minimum, b.minimum), maximum: max(a.maximum, b.maximum),
	}
}

// from measures the logs from an origin.
func (d data) from(origin float64) data {
	d.mean -= origin
	d.minimum -= origin
	d.maximum -= origin
	d.below, d.above = shifted(d.below, origin), shifted(d.above, origin)
	between := make([]band, len(d.between))
	for i, b := range d.between {
		between[i] = band{b.lower - origin, b.upper - origin, b.weight}
	}
	d.between = between
	return d
}

func shifted(b []bound, origin float64) []bound {
	out := make([]bound, len(b))
	for i, x := range b {
		out[i] = bound{x.at - origin, x.weight}
	}
	return out
}
