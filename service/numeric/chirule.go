package numeric

import "math"

const (
	// ruleNodes bounds the nodes of a ChiRule; nu = 1 needs 70, nu = 5 needs 59, nu = 99
	// needs 45.
	ruleNodes = 96
	// ruleCut is the weight, relative to the largest, below which nodes are left
	// out: small enough for a probability of 1e-3 to keep 13 digits.
	ruleCut = 1e-18
	// ruleTail is the smallest tail for which the rule's own solves are used.
	ruleTail = 1e-3
	// ruleStrip and ruleNormal are the spacings as in the tail integral, somewhat
	// wider because only an absolute error is asked for here.
	ruleStrip  = 0.1
	ruleNormal = 0.34
)

// ChiRule is a fixed quadrature rule for the expectation over
// S = sqrt(chi²_nu / nu),
//
//	E f(S) = sum of w_i f(s_i),   sum of w_i = 1,
//
// with an absolute error of about 1e-14 for smooth f between -1 and 1, such as
// Phi(t S - delta) with |t| and |delta| up to Reach.
//
// It is a plain value without pointers and can live on the stack: build one for a
// sample size and use it for every solve of that sample. NewChiRule makes it.
type ChiRule struct {
	nu     float64
	reach  float64
	count  int
	node   [ruleNodes]float64
	weight [ruleNodes]float64
}

// NewChiRule returns the rule for nu degrees of freedom, 1 <= nu <= 1e9. For any
// other nu the rule has no nodes and gives NaN.
func NewChiRule(nu float64) ChiRule {
	r := ChiRule{nu: nu}
	if !(nu >= minNu && nu <= maxNu) {
		r.nu = math.NaN()
		return r
	}
	root := math.Sqrt(nu)
	r.reach = 1.8*root + 6
	// As in tailIntegral.place: the curvature of the chi density and that of the
	// steepest step of Phi promised by Reach.
	c := (2*nu + r.reach*r.reach*2/math.Pi) / (ruleNormal * ruleNormal)
	const strip = 1 / (ruleStrip * ruleStrip)
	h := 1 / math.Sqrt(math.Sqrt(c*c+strip*strip))
	total := r.fill(0, h) + r.fill(-h, -h)
	for i := range r.count {
		r.weight[i] /= total
	}
	return r
}

// fill adds the nodes at x = first, first+step, ... in the warped variable of the
// tail integral, and returns the sum of their weights.
func (r *ChiRule) fill(first, step float64) float64 {
	total := 0.0
	fall, ratio := -math.Expm1(-warpRate*first), -math.Expm1(-warpRate*step)
	for i := 0; r.count < ruleNodes; i++ {
		s, _, g := chiPoint(first + float64(i)*step + warpGain*fall)
		w := (2 - fall) * expWeight(r.nu*g)
		if w < ruleCut {
			break
		}
		r.node[r.count], r.weight[r.count] = s, w
		r.count++
		total += w
		fall += ratio * (1 - fall)
	}
	return total
}

// Nu returns the degrees of freedom.
func (r *ChiRule) Nu() float64 { return r.nu }

// Reach returns the largest |t| and |delta| for which Phi(t S - delta) is
// integrated to the stated error: 1.8 sqrt(nu) + 6.
func (r *ChiRule) Reach() float64 { return r.reach }

// Len returns the number of nodes.
func (r *ChiRule) Len() int { return r.count }

// Node returns the i-th node s_i and its weight w_i, 0 <= i < Len.
func (r *ChiRule) Node(i int) (s, weight float64) { return r.node[i], r.weight[i] }

// Expect returns the expectation of f(S).
func (r *ChiRule) Expect(f func(s float64) float64) float64 {
	if r.count == 0 {
		return math.NaN()
	}
	sum := 0.0
	for i := range r.count {
		sum += r.weight[i] * f(r.node[i])
	}
	return sum
}

// Quantile returns the t with P(T <= t) = p for the noncentral t with these
// degrees of freedom. Outside the range of the rule (tails below 1e-3, |t| or
// |delta| above Reach) it is NoncentralT.Quantile; the two agree to 1e-12.
func (r *ChiRule) Quantile(delta, p float64) float64 {
	d := NoncentralT{Nu: r.nu, Delta: delta}
	if !(p >= ruleTail && p <= 1-ruleTail && math.Abs(delta) <= r.reach) {
		return d.Quantile(p)
	}
	z := NormalQuantile(p)
	start := startT(r.nu, delta, z)
	if math.Abs(start) <= r.reach {
		t, ok := solveScore(func(t float64) scorePoint {
			m, upper := r.moments(t, delta)
			return m.againstT(upper)
		}, z, start)
		if ok && math.Abs(t) <= r.reach {
			return t
		}
	}
	return d.Quantile(p)
}

// Delta returns the noncentrality with P(T <= t) = p for these degrees of freedom,
// as NoncentralTDelta does.
func (r *ChiRule) Delta(t, p float64) float64 {
	if p >= ruleTail && p <= 1-ruleTail && math.Abs(t) <= r.reach {
		z := NormalQuantile(p)
		delta, ok := solveScore(func(delta float64) scorePoint {
			m, upper := r.moments(t, delta)
			return m.againstDelta(upper)
		}, z, startDelta(r.nu, t, z))
		if ok && math.Abs(delta) <= r.reach {
			return delta
		}
	}
	return NoncentralTDelta(r.nu, t, p)
}

// Tails returns P(T <= t) and P(T > t) for the noncentral t with these degrees of
// freedom. Outside the range of the rule they are those of NoncentralT; the
// smaller of the two agrees with it to 1e-10.
func (r *ChiRule) Tails(t, delta float64) (lower, upper float64) {
	if math.Abs(t) <= r.reach && math.Abs(delta) <= r.reach {
		switch m, isUpper := r.moments(t, delta); {
		case !(m.p >= ruleTail):
		case isUpper:
			return 1 - m.p, m.p
		default:
			return m.p, 1 - m.p
		}
	}
	d := NoncentralT{Nu: r.nu, Delta: delta}
	if t <= delta {
		lower = d.CDF(t)
		return lower, 1 - lower
	}
	upper = d.Survival(t)
	return 1 - upper, upper
}

// moments returns the smaller tail of the noncentral t at t with the moments that
// againstT and againstDelta want, and whether that is the upper tail.
func (r *ChiRule) moments(t, delta float64) (m tailMoments, upper bool) {
	lower := 0.0
	for i, w := range r.weight[:r.count] {
		s := r.node[i]
		a := t*s - delta
		d := w * expWeight(-0.5*a*a)
		m.dp0 += d
		m.dp1 += d * s
		m.ap0 += d * a
		m.ap2 += d * a * s * s
		// p collects the upper tail and lower the lower one, each from the smaller
		// side of Phi, so that neither cancels.
		q := d * millsRatio(math.Abs(a))
		if a > 0 {
			m.p += q
			lower += w/invSqrt2Pi - q
		} else {
			lower += q
			m.p += w/invSqrt2Pi - q
		}
	}
	upper = m.p < lower
	if !upper {
		m.p = lower
	} else {
		// The reflected problem, as noncentralMoments states it.
		m.ap0, m.ap2 = -m.ap0, -m.ap2
	}
	m.scale(invSqrt2Pi)
	return m, upper
}
