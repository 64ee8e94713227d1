package planning

import "math"

// nodes is the number of nodes of a Chebyshev series.
const nodes = 32

// series is a polynomial of Chebyshev on [-1, 1].
type series [nodes + 1]float64

// at evaluates the polynomial by Clenshaw's recurrence.
func (c *series) at(x float64) float64 {
	b1, b2 := 0.0, 0.0
	for k := len(c) - 1; k > 0; k-- {
		b1, b2 = c[k]+2*x*b1-b2, b1
	}
	return c[0] + x*b1 - b2
}

// chebyshev holds the nodes and the transform of a panel.
type chebyshev struct {
	node   [nodes]float64
	cosine [nodes][nodes]float64 // T_k at node j, times 2/M (1/M for k = 0)
}

func newChebyshev() *chebyshev {
	f := &chebyshev{}
	const m = nodes
	for j := range m {
		angle := math.Pi * (float64(j) + 0.5) / m
		f.node[j] = math.Cos(angle)
		for k := range m {
			f.cosine[k][j] = 2.0 / m * math.Cos(float64(k)*angle)
		}
		f.cosine[0][j] = 1.0 / m
	}
	return f
}

// through is the polynomial through the values at the nodes.
func (f *chebyshev) through(values *[nodes]float64) series {
	var a series
	for k := range nodes {
		for j, v := range values {
			a[k] += f.cosine[k][j] * v
		}
	}
	return a
}

// integral is the integral, from -1 on, of the polynomial through the values at the nodes.
func (f *chebyshev) integral(values *[nodes]float64) series {
	const m = nodes
	var a [m + 2]float64
	through := f.through(values)
	copy(a[:], through[:m])
	var b series
	b[1] = a[0] - 0.5*a[2]
	for k := 2; k <= m; k++ {
		b[k] = (a[k-1] - a[k+1]) / float64(2*k)
	}
	// The constant makes it 0 at -1, where T_k is 1 or -1.
	sign := 1.0
	for k := 1; k <= m; k++ {
		b[0] += sign * b[k]
		sign = -sign
	}
	return b
}
