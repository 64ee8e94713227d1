package posterior

import (
	"math"

	"example.com/tailbound/service/fit/likelihood"
)

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

// carry adds the readings that the prior carries over.
func (p Prior) carry(d likelihood.Data) likelihood.Data {
	if p.Carried == nil || p.Carried.Weight == 0 {
		return d
	}
	e := likelihood.NewData(p.Carried.Readings, p.Carried.Weight)
	return d.With(&e)
}
