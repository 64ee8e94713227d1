package variance

import (
	"math"
	"slices"

	"example.com/tailbound/service/numeric"
)

// pivotal is what the readings say of (theta, sigma_w, mu) through their exact pivots, where theta = sigma_b²/sigma_w²:
//
//	squares(theta)/squares within · df within/df between   has an F distribution at the true theta (Wald 1940, from memory),
//	(squares within + squares(theta))/sigma_w²             has chi-square with the degrees of both, given theta,
//	(mean(theta) - mu) sqrt(weight)/sigma_w                is standard normal, given both.
//
// Read backwards from the data, the first makes a distribution of theta with a point mass at 0, as large as the p-value of
// the F test; the second and third go on from there. This is the generalized pivotal quantity of the one-way layout
// (Krishnamoorthy and Mathew 2002, from memory), computed by quadrature over theta in place of a simulation.
type pivotal struct {
	layout  *layout
	degrees float64
	// zero is the mass at theta = 0 and positive the rest, each computed by itself so that neither is lost in the other.
	zero, positive float64
	// atZero is the layout at theta = 0 with mass 1; nodes are theta > 0 with masses that add up to 1.
	atZero node
	nodes  []node
}

// node is a theta with its mass and what the layout says there.
type node struct {
	theta, mass, mean, weight float64
	// sum is the sum of squares within zones and of the means; sum/degrees estimates sigma_w².
	sum float64
}

const (
	// fineStep and coarseStep are spacings of the nodes in the variable t of ln theta = mode + width sinh(t), with width the standard
	// deviation of ln theta. The fine one is for limits, the coarse one for the p-values of zones.
	fineStep, coarseStep = 0.2, 0.4
	// nodeReach bounds t on either side: sinh(9) is 4000 widths.
	nodeReach = 9
	// nodeDrop is the mass, relative to the largest, below which the rest of a side is left out.
	nodeDrop = 1e-15
	// leastMass keeps quotients finite.
	leastMass = 1e-300
	// alike is the sum of squares of the means, as a share of that within, under which the means are taken as equal.
	alike = 1e-12
)

// parted is the layout with means that differ just so much that the shape of what they leave open is defined: it hardly depends
// on which means differ.
func (l *layout) parted() *layout {
	p := *l
	p.classes = slices.Clone(l.classes)
	for i := range p.classes {
		p.classes[i].squares += p.classes[i].count * alike * l.squares
	}
	return &p
}

// newPivotal places the nodes. It fails when the readings within every zone are equal.
func newPivotal(l *layout, step float64) (*pivotal, error) {
	if l.at(0).squares < alike*l.squares {
		l = l.parted()
	}
	p := &pivotal{layout: l, degrees: l.total()}
	s := l.at(0)
	f := s.squares / l.between / (l.squares / l.within)
	p.zero = numeric.FSurvival(l.between, l.within, f)
	p.positive = math.Max(numeric.FSurvival(l.within, l.between, 1/f), leastMass)
	p.atZero = node{0, 1, s.mean, s.weight, l.squares + s.squares}
	density := func(x float64) float64 { return l.logDensity(math.Exp(x)) }
	peak, err := numeric.FindPeak(density, -math.Log(s.weight/(l.between+1)), 1, 2)
	if err != nil {
		return nil, err
	}
	// A normal density falls by 2 over two standard deviations on either side.
	width := 0.25 * (peak.Hi - peak.Lo)
	total := 0.0
	add := func(t float64) bool {
		theta := math.Exp(peak.Mode + width*math.Sinh(t))
		mass := math.Exp(l.logDensity(theta)-peak.LogMax) * math.Cosh(t)
		if !(mass > nodeDrop) {
			return false
		}
		s := l.at(theta)
		total += mass
		p.nodes = append(p.nodes, node{theta, mass, s.mean, s.weight, l.squares + s.squares})
		return true
	}
	for t := 0.0; t < nodeReach && add(t); t += step {
	}
	for t := -step; t > -nodeReach && add(t); t -= step {
	}
	for i := range p.nodes {
		p.nodes[i].mass /= total
	}
	return p, nil
}

// logDensity is the logarithm of the density of ln theta under the pivot, up to a constant.
func (l *layout) logDensity(theta float64) float64 {
	s := l.at(theta)
	r := s.squares / l.squares
	return math.Log(-theta*s.slope/l.squares) + (0.5*l.between-1)*math.Log(r) - 0.5*l.total()*math.Log1p(r)
}

// average is the mean of f over theta > 0.
func (p *pivotal) average(f func(*node) float64) float64 {
	sum := 0.0
	for i := range p.nodes {
		if n := &p.nodes[i]; n.mass > 0 {
			sum += n.mass * f(n)
		}
	}
	return sum
}
