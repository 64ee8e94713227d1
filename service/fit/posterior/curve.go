package posterior

import "math"

// curve is a family of curves that fills the half-plane of mu and sigma, one for each value of the outer variable, the quantity
// whose posterior is wanted. The inner variable runs along a curve.
type curve interface {
	// on chooses the curve.
	on(outer float64)
	// at fills a batch with the places on the chosen curve; the Jacobian is that of (mu, lambda) by (outer, inner).
	at(inner []float64, p *batch)
	// inside returns the range of the inner variable in which the chosen curve is inside the box; it is empty when the first is
	// not below the second.
	inside(b *box) (lower, upper float64)
	// locate returns the outer and the inner variable of a place.
	locate(mu, lambda float64) (outer, inner float64)
}

// percentileCurve has the outer variable mu + z sigma and the inner variable lambda.
type percentileCurve struct{ z, outer float64 }

func (c *percentileCurve) on(outer float64) { c.outer = outer }

func (c *percentileCurve) at(inner []float64, p *batch) {
	p.anchor = c.outer
	for k, lambda := range inner {
		p.b[k], p.t[k], p.lambda[k], p.log[k] = math.Exp(-lambda), c.z, lambda, 0
	}
}

func (c *percentileCurve) inside(b *box) (lower, upper float64) { return b.ray(c.outer, c.z) }

func (c *percentileCurve) locate(mu, lambda float64) (outer, inner float64) {
	return mu + c.z*math.Exp(lambda), lambda
}

// ray returns the range of ln sigma in which mu = start - z sigma is inside the box.
func (b *box) ray(start, z float64) (lower, upper float64) {
	lo, hi := b.sigmaLower, b.sigmaUpper
	near, far := (start-b.muUpper)/z, (start-b.muLower)/z
	switch {
	case z > 0:
		lo, hi = max(lo, near), min(hi, far)
	case z < 0:
		lo, hi = max(lo, far), min(hi, near)
	case start < b.muLower || start > b.muUpper:
		return 0, 0
	}
	if !(lo < hi) {
		return 0, 0
	}
	return math.Log(lo), math.Log(hi)
}

// scoreCurve has the outer variable (q - mu)/sigma, the normal score of a limit at q, and the inner variable lambda.
type scoreCurve struct{ q, outer float64 }

func (c *scoreCurve) on(outer float64) { c.outer = outer }

func (c *scoreCurve) at(inner []float64, p *batch) {
	p.anchor = c.q
	for k, lambda := range inner {
		p.b[k], p.t[k], p.lambda[k], p.log[k] = math.Exp(-lambda), c.outer, lambda, lambda
	}
}

func (c *scoreCurve) inside(b *box) (lower, upper float64) { return b.ray(c.q, c.outer) }

func (c *scoreCurve) locate(mu, lambda float64) (outer, inner float64) {
	return (c.q - mu) * math.Exp(-lambda), lambda
}

// spreadCurve has the outer variable lambda and the inner variable mu/spread, where spread is the standard deviation of ln
// reading, measurement error included.
type spreadCurve struct {
	errorVariance               float64
	lambda, b, ratio, logSpread float64
}

func (c *spreadCurve) on(outer float64) {
	c.lambda, c.b, c.ratio, c.logSpread = outer, math.Exp(-outer), 1, outer
	if c.errorVariance > 0 {
		c.ratio = math.Sqrt(1 + c.errorVariance*c.b*c.b)
		c.logSpread = outer + math.Log(c.ratio)
	}
}

func (c *spreadCurve) at(inner []float64, p *batch) {
	p.anchor = 0
	for k, y := range inner {
		p.b[k], p.t[k], p.lambda[k], p.log[k] = c.b, -y*c.ratio, c.lambda, c.logSpread
	}
}

func (c *spreadCurve) inside(b *box) (lower, upper float64) {
	sigma := 1 / c.b
	if sigma < b.sigmaLower || sigma > b.sigmaUpper {
		return 0, 0
	}
	scale := c.b / c.ratio
	return b.muLower * scale, b.muUpper * scale
}

func (c *spreadCurve) locate(mu, lambda float64) (outer, inner float64) {
	s := math.Exp(lambda)
	return lambda, mu / math.Sqrt(s*s+c.errorVariance)
}

// meanCurve has the outer variable mu + sigma²/2 and the inner variable lambda.
type meanCurve struct{ outer float64 }

func (c *meanCurve) on(outer float64) { c.outer = outer }

func (c *meanCurve) at(inner []float64, p *batch) {
	p.anchor = c.outer
	for k, lambda := range inner {
		b := math.Exp(-lambda)
		p.b[k], p.t[k], p.lambda[k], p.log[k] = b, 0.5/b, lambda, 0
	}
}

func (c *meanCurve) inside(b *box) (lower, upper float64) {
	low, high := c.outer-b.muUpper, c.outer-b.muLower
	lo := max(b.sigmaLower, math.Sqrt(2*max(low, 0)))
	hi := min(b.sigmaUpper, math.Sqrt(2*max(high, 0)))
	if !(lo < hi) {
		return 0, 0
	}
	return math.Log(lo), math.Log(hi)
}

func (c *meanCurve) locate(mu, lambda float64) (outer, inner float64) {
	return mu + 0.5*math.Exp(2*lambda), lambda
}

// highMeanCurve is meanCurve where outer > base, with the inner variable asinh((mu-base)/sigma). Far up the tail mu + sigma²/2
// fixes lambda ever more closely, at last to fewer digits than a float64 has, while (mu-base)/sigma stays of the order of 1.
type highMeanCurve struct{ base, delta float64 }

func (c *highMeanCurve) on(outer float64) { c.delta = 2 * (outer - c.base) }

// at solves sigma²/2 + y sigma = outer - base for y = (mu-base)/sigma; dlambda/douter at given y is 1/(sigma root).
func (c *highMeanCurve) at(inner []float64, p *batch) {
	p.anchor = c.base
	for k, x := range inner {
		e := math.Exp(x)
		y, cosh := 0.5*(e-1/e), 0.5*(e+1/e)
		root := math.Sqrt(y*y + c.delta)
		b := (root + y) / c.delta
		if y < 0 {
			b = 1 / (root - y)
		}
		p.b[k], p.t[k], p.lambda[k], p.log[k] = b, -y, -math.Log(b), math.Log(cosh/root)
	}
}

func (c *highMeanCurve) inside(*box) (lower, upper float64) {
	return math.Inf(-1), math.Inf(1)
}

func (c *highMeanCurve) locate(mu, lambda float64) (outer, inner float64) {
	return mu + 0.5*math.Exp(2*lambda), math.Asinh((mu - c.base) * math.Exp(-lambda))
}
