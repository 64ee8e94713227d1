package posterior

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// piece is a stretch of a marginal: its density in the x of a warp as a Fourier series. The density has fallen off at both ends
// of the period, so that the series of the values on an even grid is exact up to the amplitude at half the sampling frequency.
type piece struct {
	warp
	// first is the x of the lower end and period its length in x; rate is 2 pi / period.
	first, period, rate float64
	// re and im are the coefficients of exp(i rate j (x - first)), j = 0, 1, ...
	re, im []float64
	// fixed is the part of the integral from the lower end that does not depend on x.
	fixed float64
	// mass is the integral over the period.
	mass float64
}

// newPiece makes the series from an odd number of values at first + (k + 1/2) step.
func newPiece(w warp, values []float64, first, step float64) piece {
	n := len(values)
	half := (n - 1) / 2
	p := piece{warp: w, first: first, period: step * float64(n)}
	p.rate = 2 * math.Pi / p.period
	memory := make([]float64, 2*half+2+2*n)
	p.re, p.im = memory[:half+1:half+1], memory[half+1:2*half+2:2*half+2]
	cos, sin := memory[2*half+2:2*half+2+n], memory[2*half+2+n:]
	for i := range n {
		sin[i], cos[i] = math.Sincos(2 * math.Pi * float64(i) / float64(n))
	}
	for j := range half + 1 {
		re, im := 0.0, 0.0
		at := 0
		for _, v := range values {
			re += v * cos[at]
			im -= v * sin[at]
			if at += j; at >= n {
				at -= n
			}
		}
		s, c := math.Sincos(math.Pi * float64(j) / float64(n))
		p.re[j], p.im[j] = (re*c+im*s)/float64(n), (im*c-re*s)/float64(n)
	}
	for j := half; j >= 1; j-- {
		p.fixed += 2 * p.im[j] / (p.rate * float64(j))
	}
	p.mass = p.re[0] * p.period
	return p
}

// fewTerms is the number of terms under which nothing can be said of how they fall.
const fewTerms = 6

// roughness is the error of the integral, relative to the whole, that the terms left out make if they go on falling as those kept
// do at the end; those left out also pass for some of those kept.
func (p *piece) roughness() float64 {
	k := len(p.re) - 1
	if k < fewTerms {
		return 1
	}
	last := math.Hypot(p.re[k], p.im[k]) + math.Hypot(p.re[k-1], p.im[k-1])
	before := math.Hypot(p.re[k-4], p.im[k-4]) + math.Hypot(p.re[k-5], p.im[k-5])
	fall := min(math.Sqrt(math.Sqrt(last/before)), 0.9)
	return 4 * last / (1 - fall) / (p.re[0] * math.Pi * float64(k))
}

// below returns the integral from the lower end to first + u, and the density there.
func (p *piece) below(u float64) (integral, density float64) {
	s, c := math.Sincos(p.rate * u)
	var dr, di, ir, ii float64
	scale := 1 / p.rate
	for j := len(p.re) - 1; j >= 1; j-- {
		w := scale / float64(j)
		ir, ii = ir*c-ii*s+p.im[j]*w, ir*s+ii*c-p.re[j]*w
		dr, di = dr*c-di*s+p.re[j], dr*s+di*c+p.im[j]
	}
	return p.re[0]*u + 2*(ir*c-ii*s) - p.fixed, p.re[0] + 2*(dr*c-di*s)
}

// marginal is the posterior of one quantity.
type marginal struct {
	pieces []piece
	// mass is the integral over all pieces, in units of exp(scale).
	mass, scale float64
	// err estimates the error of a probability.
	err   float64
	nodes int
}

// log is the logarithm of the integral over the marginal: that of likelihood times prior, the same for every quantity.
func (m *marginal) log() float64 { return m.scale + math.Log(m.mass) }

// below is the probability below v.
func (m *marginal) below(v float64) float64 {
	before := 0.0
	for i := range m.pieces {
		p := &m.pieces[i]
		u := p.invert(v) - p.first
		if u < p.period {
			if u > 0 {
				part, _ := p.below(u)
				before += part
			}
			break
		}
		before += p.mass
	}
	return min(max(before/m.mass, 0), 1)
}

// above is the probability above v.
func (m *marginal) above(v float64) float64 { return 1 - m.below(v) }

// quantile is the value below which the probability is p.
func (m *marginal) quantile(p float64) (float64, error) {
	target := p * m.mass
	last := len(m.pieces) - 1
	at := 0
	for at < last && target > m.pieces[at].mass {
		target -= m.pieces[at].mass
		at++
	}
	q := &m.pieces[at]
	guess := numeric.NormalQuantile(p) - q.first
	u, err := numeric.RootNear(func(u float64) (float64, float64) {
		integral, density := q.below(u)
		return integral - target, density
	}, guess, 0.2, 0, q.period)
	if err != nil {
		return 0, err
	}
	v, _ := q.at(q.first + u)
	return v, nil
}
