package posterior

import "example.com/tailbound/service/fault"

// Law is the posterior of one quantity, on the scale of ln reading unless said otherwise.
type Law interface {
	// At is the probability that the quantity is at most v, and its density there.
	At(v float64) (below, density float64)
	// Quantile is the value below which the probability is p, 0 < p < 1.
	Quantile(p float64) (float64, error)
}

// Law is the posterior of a quantity from its marginal; value is that of its kind.
func (q *Quadrature) Law(k Kind, value float64) (Law, error) {
	l := marginalLaw{origin: q.f.origin, marginal: q.spread}
	switch k {
	case SpreadKind:
		l.origin = 0
		return l, nil
	case ScoreKind:
		value -= l.origin
		l.origin = 0
	case PercentileKind, MeanKind:
	}
	m, err := q.of(k, value)
	l.marginal = m
	return l, err
}

// marginalLaw is a marginal with the origin of its readings put back.
type marginalLaw struct {
	*marginal

	origin float64
}

// At is that of Law.
func (l marginalLaw) At(v float64) (below, density float64) { return l.at(v - l.origin) }

// Quantile is that of Law.
func (l marginalLaw) Quantile(p float64) (float64, error) {
	v, err := l.quantile(p)
	if err != nil {
		return 0, fault.Wrap(err, "no solution for a quantile of the posterior")
	}
	return v + l.origin, nil
}

// at is the probability below v and the density there.
func (m *marginal) at(v float64) (below, density float64) {
	for i := range m.pieces {
		p := &m.pieces[i]
		u := p.invert(v) - p.first
		if u >= p.period {
			below += p.mass
			continue
		}
		if u > 0 {
			part, byX := p.below(u)
			_, slope := p.at(u + p.first)
			below += part
			density = max(byX/slope/m.mass, 0)
		}
		break
	}
	return min(max(below/m.mass, 0), 1), density
}
