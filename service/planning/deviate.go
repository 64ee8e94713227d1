package planning

import "math"

// deviateLaw is the law of the largest studentized deviate of n normal observations,
//
//	D = (largest - mean)/s,   P(D <= u) for 1/sqrt(n) <= u <= (n-1)/sqrt(n),
//
// which does not depend on mu and sigma and, by Basu's theorem, is independent of mean and s. That is what makes the chance
// of "no result above the limit, and UR at least UT" exact: given UR = (ln L - mean)/s = u, no result is above the limit
// with probability P(D <= u).
//
// With u = (n-1)/sqrt(n) cos(theta) the probability follows from that of n-1 observations,
//
//	P_n(theta) = 1 - n c_n ∫_0^theta sin(t)^(n-3) P_{n-1}(theta'(t)) dt,   cos(theta') = sqrt(n/(n-2)) cot(t),
//
// c_n = Gamma((n-1)/2)/(sqrt(pi) Gamma((n-2)/2)): the largest observation has the deviate of t, and the n-1 others, which
// have their own mean and spread, must stay below it. P is a polynomial of Chebyshev on each panel of theta.
//
// Source: Pearson and Chandra Sekar (1936), Biometrika 28, 308, for the single term; Grubbs (1950), Annals of Mathematical
// Statistics 21, 27, for the recursion (both from memory).
type deviateLaw struct {
	n      float64
	root   bool      // whether each panel starts at a square-root singularity
	edges  []float64 // of the panels, ascending; P is 1 below the first and 0 above the last
	panels []series
}

const (
	// deviateRough is the largest n whose law is so rough where a further observation can exceed u that the panels must end
	// there: of m observations at once it behaves there like a power (n+m-3)/2.
	deviateRough = 16
	// deviatePanels is the number of panels above deviateRough, doubled above deviateMany.
	deviatePanels = 8
	deviateMany   = 100
	// deviateFar is a deviate that is exceeded with probability below 1e-16 for any n up to MaxSamples.
	deviateFar = 9
	// deviateLost is the probability below which the law of more than deviateMany observations is taken for 0 from the next
	// edge on: the rounding errors of the recursion grow like 1/P as P falls.
	deviateLost = 1e-7
)

// deviateOfTwo is the law of two observations, whose largest deviate is always 1/sqrt(2).
func deviateOfTwo() *deviateLaw { return &deviateLaw{n: 2, edges: []float64{0}} }

// next is the law of one more observation.
func (l *deviateLaw) next(f *chebyshev) *deviateLaw {
	n := l.n + 1
	d := &deviateLaw{n: n, root: n <= deviateRough}
	d.edges = d.breaks()
	d.panels = make([]series, len(d.edges)-1)
	logDensity := math.Log(n) + logGammaRatio(n)
	reach, p := math.Sqrt(n/(n-2)), 1.0
	for i := range d.panels {
		lo, width := d.edges[i], d.edges[i+1]-d.edges[i]
		var values [nodes]float64
		for j, x := range f.node {
			t, slope := d.place(lo, width, x)
			sin, cos := math.Sincos(t)
			values[j] = math.Exp(logDensity+(n-3)*math.Log(sin)) * l.atCosine(reach*cos/sin) * slope
		}
		d.panels[i] = f.integral(&values)
		for k := range d.panels[i] {
			d.panels[i][k] = -d.panels[i][k]
		}
		d.panels[i][0] += p
		p = d.panels[i].at(1)
		if n > deviateMany && p < deviateLost {
			d.edges, d.panels = d.edges[:i+2], d.panels[:i+1]
			break
		}
	}
	return d
}

// logGammaRatio is ln c_n.
func logGammaRatio(n float64) float64 {
	a, _ := math.Lgamma((n - 1) / 2)
	b, _ := math.Lgamma((n - 2) / 2)
	return a - b - 0.5*math.Log(math.Pi)
}

// place maps x of [-1, 1] to an angle of a panel; slope is its derivative.
func (l *deviateLaw) place(lo, width, x float64) (t, slope float64) {
	y := 0.5 * (1 + x)
	if l.root {
		return lo + width*y*y, width * y
	}
	return lo + width*y, 0.5 * width
}

// breaks are the edges of the panels. Up to deviateRough they are the angles at which m observations can reach u together,
// u² = (n-1)(n-m)/(n m).
func (l *deviateLaw) breaks() []float64 {
	n := l.n
	if l.root {
		edges := make([]float64, 0, int(n)-1)
		for m := 1.0; m <= n-1; m++ {
			edges = append(edges, math.Acos(math.Sqrt((n-m)/(m*(n-1)))))
		}
		return edges
	}
	lo := math.Acos(min(1, deviateFar*math.Sqrt(n)/(n-1)))
	hi := math.Acos(1 / (n - 1))
	panels := deviatePanels
	if n > deviateMany {
		panels *= 2
	}
	edges := make([]float64, panels+1)
	for i := range edges {
		edges[i] = lo + (hi-lo)*float64(i)/float64(panels)
	}
	return edges
}

// largest is the largest possible deviate, (n-1)/sqrt(n).
func (l *deviateLaw) largest() float64 { return (l.n - 1) / math.Sqrt(l.n) }

// atCosine is P(D <= u) at cos(theta) = u/largest.
func (l *deviateLaw) atCosine(cos float64) float64 {
	if cos >= 1 {
		return 1
	}
	return l.at(math.Acos(max(-1, cos)))
}

// at is P(D <= u) at theta.
func (l *deviateLaw) at(theta float64) float64 {
	last := len(l.edges) - 1
	switch {
	case theta <= l.edges[0]:
		return 1
	case theta >= l.edges[last]:
		return 0
	}
	i := 0
	for theta > l.edges[i+1] {
		i++
	}
	y := (theta - l.edges[i]) / (l.edges[i+1] - l.edges[i])
	if l.root {
		y = math.Sqrt(y)
	}
	return clamp(l.panels[i].at(2*y - 1))
}
