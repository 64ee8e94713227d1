package numeric

import "math"

const (
	// chiNodes bounds the nodes of a ChiRule.
	chiNodes = 96
	// chiCut is the weight, relative to the largest, below which nodes are left
	// out.
	chiCut     = 1e-17
	chiSpacing = 0.25
)

// ChiRule is a fixed quadrature rule for the expectation over
// S = sqrt(chi²_nu / nu),
//
//	E f(S) ~ sum of w_i f(s_i),   sum of w_i = 1.
//
// It is a plain value without pointers, so that it can live on the stack: build
// one for a sample size and use it for every solve of that sample.
type ChiRule struct {
	nu     float64
	count  int
	node   [chiNodes]float64
	weight [chiNodes]float64
}

// NewChiRule returns the rule for nu degrees of freedom, 1 <= nu <= 1e9.
func NewChiRule(nu float64) ChiRule {
	r := ChiRule{nu: nu}
	width := math.Sqrt(0.5 / nu)
	total := 0.0
	add := func(x float64) bool {
		e := math.Exp(x)
		u := width * (x + 0.1*0.5*(e-1/e))
		w := math.Exp(nu*chiExponent(u)) * (1 + 0.1*0.5*(e+1/e))
		if r.count == chiNodes || w < chiCut {
			return false
		}
		r.node[r.count], r.weight[r.count] = math.Exp(u), w
		r.count++
		total += w
		return true
	}
	for i := 0; add(float64(i) * chiSpacing); i++ {
	}
	for i := -1; add(float64(i) * chiSpacing); i-- {
	}
	for i := range r.count {
		r.weight[i] /= total
	}
	return r
}

// Nu returns the degrees of freedom of the rule.
func (r *ChiRule) Nu() float64 { return r.nu }

// Len returns the number of nodes.
func (r *ChiRule) Len() int { return r.count }

// Node returns the i-th node s_i and its weight w_i.
func (r *ChiRule) Node(i int) (s, weight float64) { return r.node[i], r.weight[i] }

// Expect returns the expectation of f(S).
func (r *ChiRule) Expect(f func(s float64) float64) float64 {
	sum := 0.0
	for i := range r.count {
		sum += r.weight[i] * f(r.node[i])
	}
	return sum
}

// Quantile returns the t with P(T <= t) = p for the noncentral t of this nu.
func (r *ChiRule) Quantile(delta, p float64) float64 {
	return NoncentralT{Nu: r.nu, Delta: delta}.Quantile(p)
}

// Delta returns the noncentrality with P(T <= t) = p for this nu.
func (r *ChiRule) Delta(t, p float64) float64 {
	return NoncentralTDelta(r.nu, t, p)
}
