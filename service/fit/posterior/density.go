package posterior

import (
	"math"

	"example.com/tailbound/service/fit/likelihood"
)

// density is the logarithm of likelihood times prior as a function of mu and lambda = ln sigma, up to a constant. Everything is
// measured from origin, so that readings far from 1 keep their digits.
type density struct {
	d      likelihood.Data
	origin float64
	// errorVariance is the variance of the measurement error of ln reading.
	errorVariance float64
	prior         priorDensity
	// plain says that there is neither a measurement error nor a prior other than the reference prior.
	plain bool
	phi   phiTable
	// fineness divides the spacing of every first grid.
	fineness float64
	// grids are those made so far.
	grids []*grid
}

// grid returns the grid of a shape, which families that need the same one share.
func (f *density) grid(s shape, step float64) *grid {
	for _, g := range f.grids {
		if g.shape == s && g.step == step {
			return g
		}
	}
	g := newGrid(s, step, int(gridReach/step))
	f.grids = append(f.grids, g)
	return g
}

// batch is a row of places in the half-plane. Working on all of them, term by term, is two to three times as fast as one place
// after the other.
type batch struct {
	// anchor is common to all: mu = anchor - t sigma.
	anchor float64
	// b is 1/sigma, t is (anchor - mu)/sigma and lambda is ln sigma.
	b, t, lambda []float64
	// log holds the logarithm of the Jacobian of the coordinates in which the places were found, then that of the density.
	log []float64
}

// sized makes room for n places.
func (p *batch) sized(n int) {
	if cap(p.b) < n {
		c := n + n/2
		memory := make([]float64, 4*c)
		p.b, p.t, p.lambda, p.log = memory[:c:c], memory[c:2*c:2*c], memory[2*c:3*c:3*c], memory[3*c:]
	}
	p.b, p.t, p.lambda, p.log = p.b[:n], p.t[:n], p.lambda[:n], p.log[:n]
}

// logs adds the density in the measure dmu dlambda to p.log. Of a measurement error it leaves the spread of a reading in place of
// sigma in the batch.
func (f *density) logs(p *batch) {
	if !f.plain {
		f.temper(p)
	}
	d := &f.d
	if d.Exact > 0 {
		y, half := d.Mean-p.anchor, 0.5*d.Squares
		for k, b := range p.b {
			z := y*b + p.t[k]
			p.log[k] -= d.Exact*(p.lambda[k]+0.5*z*z) + half*b*b
		}
	}
	for i := range d.Below {
		c := &d.Below[i]
		f.phi.addTail(p.log, p.b, p.t, c.At-p.anchor, c.Weight)
	}
	for i := range d.Between {
		c := &d.Between[i]
		lower, upper := c.Lower-p.anchor, c.Upper-p.anchor
		for k, b := range p.b {
			p.log[k] += c.Weight * f.phi.logBand(lower*b+p.t[k], upper*b+p.t[k])
		}
	}
	if len(d.Above) > 0 {
		f.addAbove(p)
	}
}

// addAbove adds the readings over range: their terms are those of readings below with the signs turned.
func (f *density) addAbove(p *batch) {
	for k := range p.t {
		p.t[k] = -p.t[k]
	}
	for i := range f.d.Above {
		c := &f.d.Above[i]
		f.phi.addTail(p.log, p.b, p.t, p.anchor-c.At, c.Weight)
	}
}

// temper adds the prior and turns sigma into the spread of a reading.
func (f *density) temper(p *batch) {
	for k, lambda := range p.lambda {
		sigma := 1 / p.b[k]
		p.log[k] += f.prior.log(p.anchor-p.t[k]*sigma, lambda)
		if f.errorVariance > 0 {
			spread := math.Sqrt(sigma*sigma + f.errorVariance)
			p.b[k], p.t[k], p.lambda[k] = 1/spread, p.t[k]*sigma/spread, math.Log(spread)
			if f.prior.reference {
				p.log[k] += 2 * (lambda - p.lambda[k])
			}
		}
	}
}
