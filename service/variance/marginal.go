package variance

import "math"

// The parameters of the censored likelihood, by their place in a jet.
const (
	byMu = iota
	byLogBetween
	byLogWithin
	parameters
)

// jet is a log-likelihood with its first and second derivatives by (mu, ln sigma_b, ln sigma_w).
type jet struct {
	value float64
	first [parameters]float64
	// second holds the upper triangle only.
	second [parameters][parameters]float64
}

// mean collects jets with weights and turns them into the jet of the logarithm of their weighted sum: the derivatives of a
// mixture are the means of those of its parts, the second ones with the covariance of the first (Louis 1982, from memory).
type mixture struct {
	mass   float64
	first  [parameters]float64
	second [parameters][parameters]float64
}

func (m *mixture) add(weight float64, j *jet) {
	m.mass += weight
	for a := range parameters {
		m.first[a] += weight * j.first[a]
		for b := a; b < parameters; b++ {
			m.second[a][b] += weight * (j.second[a][b] + j.first[a]*j.first[b])
		}
	}
}

func (m *mixture) jet() jet {
	j := jet{value: math.Log(m.mass)}
	for a := range parameters {
		j.first[a] = m.first[a] / m.mass
	}
	for a := range parameters {
		for b := a; b < parameters; b++ {
			j.second[a][b] = m.second[a][b]/m.mass - j.first[a]*j.first[b]
		}
	}
	return j
}

// place is a point of the likelihood of readings of which some are censored.
type place struct{ mu, between, within float64 }

// effect is what the readings of a zone say of its own effect b = sigma_b u, the parameters being known.
type effect struct {
	// mode is that of u, mean and variance those of u.
	mode, mean, variance float64
}

// marginal is the likelihood of readings of which some are censored, each zone's effect integrated out.
type marginal struct {
	zones []zone
	// effects remember where each zone's integrand sits; they shift little from one place to the next.
	effects []effect
}

func newMarginal(zones []zone) *marginal {
	return &marginal{zones: zones, effects: make([]effect, len(zones))}
}

// at is the log-likelihood at a place.
func (m *marginal) at(p place) jet {
	var sum jet
	for i := range m.zones {
		j := m.zones[i].integrate(p, &m.effects[i])
		sum.value += j.value
		for a := range parameters {
			sum.first[a] += j.first[a]
			for b := a; b < parameters; b++ {
				sum.second[a][b] += j.second[a][b]
			}
		}
	}
	return sum
}

// integrate is the log-likelihood of a zone,
//
//	ln ∫ phi(u) exp(l(mu + sigma_b u, sigma_w)) du,
//
// by the trapezoid rule on a grid that follows the integrand. An adaptive Gauss–Hermite rule assumes a normal shape, which a zone
// with nothing but readings below has not; TestQuadrature shows what that costs. The integrand is log-concave and analytic, so
// that the trapezoid rule converges geometrically.
func (z *zone) integrate(p place, e *effect) jet {
	if p.between == 0 {
		j := z.node(p, 0)
		*e = effect{variance: 1}
		return j
	}
	ratio := p.between / p.within
	sharpest := 1 + ratio*ratio*float64(z.count())
	e.mode = z.mode(p, e.mode, sharpest)
	peak := z.node(p, e.mode)
	g := z.grid(p, e.mode, 1/math.Sqrt(sharpest))
	var sum mixture
	var m1, m2 float64
	for _, side := range [...]float64{1, -1} {
		for i := 0.5 - 0.5*side; i < gridNodes; i++ {
			u, weight := g.node(i * side)
			j := z.node(p, u)
			drop, d := peak.value-j.value, u-e.mode
			if !(drop < gridDrop) && d*side >= 0 {
				break
			}
			w := weight * math.Exp(-drop)
			sum.add(w, &j)
			m1 += w * d
			m2 += w * d * d
		}
	}
	m1 /= sum.mass
	e.mean, e.variance = e.mode+m1, m2/sum.mass-m1*m1
	j := sum.jet()
	j.value += peak.value - 0.5*logTwoPi
	return j
}

// node is the logarithm of the integrand at u, without the constant of phi, with its derivatives.
func (z *zone) node(p place, u float64) jet {
	effect := p.between * u
	t := z.at(p.mu+effect, p.within)
	j := jet{value: t.value - 0.5*u*u}
	j.first = [parameters]float64{t.m, t.m * effect, t.s}
	j.second[byMu] = [parameters]float64{t.mm, t.mm * effect, t.ms}
	j.second[byLogBetween] = [parameters]float64{0, (t.mm*effect + t.m) * effect, t.ms * effect}
	j.second[byLogWithin][byLogWithin] = t.ss
	return j
}

// mode is the u at which the integrand is largest, starting at u, to a fraction of the sharpest width that the integrand may have:
// a step that is short on a flat side may still lead over an edge. The slope of its logarithm falls all the way, so every point
// narrows the bracket, and a Newton step that leaves it is replaced by its middle.
func (z *zone) mode(p place, u, sharpest float64) float64 {
	const steps, settled = 200, 0.02
	lo, hi := math.Inf(-1), math.Inf(1)
	for range steps {
		t := z.at(p.mu+p.between*u, p.within)
		slope, bend := p.between*t.m-u, 1-p.between*p.between*t.mm
		step := slope / bend
		if slope > 0 {
			lo = u
		} else {
			hi = u
		}
		if step*step*sharpest < settled {
			return u + step
		}
		u += step
		if u <= lo || u >= hi {
			u = lo + 0.5*(hi-lo)
		}
	}
	return u
}
