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

const (
	// effectStep is the spacing of the nodes in standard deviations of the sharpest feature that the integrand can have. For a
	// normal integrand the error of the trapezoid rule is 2 exp(-2 pi²/effectStep²) = 3e-12; it falls on the value as a factor
	// that hardly depends on the parameters.
	effectStep = 0.85
	// effectDrop is the fall of the logarithm of the integrand beyond which its tails are left out: 1e-12 of the peak.
	effectDrop = 27.6
	// effectNodes bounds the nodes on one side of the mode.
	effectNodes = 400
)

// integrate is the log-likelihood of a zone,
//
//	ln ∫ phi(u) exp(l(mu + sigma_b u, sigma_w)) du,
//
// by the trapezoid rule centered at the mode of the integrand and scaled by its curvature: an adaptive Gauss–Hermite rule
// assumes a normal shape, which a zone of censored readings alone does not have, and is off by percents there. The integrand
// is log-concave and analytic, so that the trapezoid rule converges geometrically. As each reading bends ln of the integrand
// by sigma_b²/sigma_w² at most, the spacing is known beforehand.
func (z *zone) integrate(p place, e *effect) jet {
	if p.between == 0 {
		j := z.node(p, 0)
		*e = effect{variance: 1}
		return j
	}
	ratio := p.between / p.within
	step := effectStep / math.Sqrt(1+ratio*ratio*float64(z.count()))
	e.mode = z.mode(p, e.mode)
	peak := z.node(p, e.mode)
	var sum mixture
	var m1, m2 float64
	sum.add(1, &peak)
	for _, side := range [...]float64{step, -step} {
		for i := 1.0; i <= effectNodes; i++ {
			u := i * side
			j := z.node(p, e.mode+u)
			drop := peak.value - j.value
			if !(drop < effectDrop) {
				break
			}
			w := math.Exp(-drop)
			sum.add(w, &j)
			m1 += w * u
			m2 += w * u * u
		}
	}
	m1 /= sum.mass
	e.mean, e.variance = e.mode+m1, m2/sum.mass-m1*m1
	j := sum.jet()
	j.value += peak.value + math.Log(step) - 0.5*logTwoPi
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

// mode is the u at which the integrand is largest, to a tenth of its width, starting at u.
func (z *zone) mode(p place, u float64) float64 {
	const steps, longest = 100, 4
	for range steps {
		t := z.at(p.mu+p.between*u, p.within)
		slope, bend := p.between*t.m-u, 1-p.between*p.between*t.mm
		step := slope / bend
		u += math.Max(-longest, math.Min(longest, step))
		if step*step*bend < 0.01 {
			break
		}
	}
	return u
}
