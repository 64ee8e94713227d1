package numeric

import "math"

// Quantile returns the t with P(T <= t) = p. It is -Inf at p = 0, +Inf at p = 1
// and NaN outside [0, 1]. For p close to one prefer QuantileUpper with the small
// tail, because p itself is spaced 1e-16 there.
func (d NoncentralT) Quantile(p float64) float64 {
	switch {
	case !d.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0 || p == 1:
		return math.Inf(int(2*p - 1))
	}
	return d.quantileOfScore(NormalQuantile(p))
}

// QuantileUpper returns the t with P(T > t) = q, for q from 0 (+Inf) to 1 (-Inf).
func (d NoncentralT) QuantileUpper(q float64) float64 {
	return -NoncentralT{Nu: d.Nu, Delta: -d.Delta}.Quantile(q)
}

// quantileOfScore returns the t with P(T <= t) = Phi(z).
func (d NoncentralT) quantileOfScore(z float64) float64 {
	score := func(t float64) scorePoint {
		m, upper := noncentralMoments(d.Nu, t, d.Delta)
		return m.againstT(upper)
	}
	start := startT(d.Nu, d.Delta, z)
	if t, ok := solveScore(score, z, start); ok {
		return t
	}
	// In y = asinh((t-start)/scale) a heavy tail is nearly straight as well, and
	// the bracket makes sure of the rest.
	scale := math.Sqrt(1 + start*start/(2*d.Nu))
	y, err := RootNear(func(y float64) (float64, float64) {
		s := score(start + scale*math.Sinh(y))
		return s.z - z, s.d1 * scale * math.Cosh(y)
	}, 0, 0.5, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return start + scale*math.Sinh(y)
}

// NoncentralTDelta returns the noncentrality delta with P(T <= t; nu, delta) = p:
// the CDF read the other way round, which falls from one to zero as delta grows.
// nu is from 1 to 1e9, t from -1e9 to 1e9, 0 < p < 1; anything else gives NaN.
func NoncentralTDelta(nu, t, p float64) float64 {
	if !(nu >= minNu && nu <= maxNu && math.Abs(t) <= maxDelta/10 && p > 0 && p < 1) {
		return math.NaN()
	}
	return deltaOfScore(nu, t, NormalQuantile(p))
}

// deltaOfScore returns the delta with P(T <= t) = Phi(z).
func deltaOfScore(nu, t, z float64) float64 {
	score := func(delta float64) scorePoint {
		m, upper := noncentralMoments(nu, t, delta)
		return m.againstDelta(upper)
	}
	start := startDelta(nu, t, z)
	if delta, ok := solveScore(score, z, start); ok {
		return delta
	}
	delta, err := RootNear(func(delta float64) (float64, float64) {
		s := score(delta)
		return s.z - z, s.d1
	}, start, 0.5*math.Sqrt(1+t*t/(2*nu)), -maxDelta, maxDelta)
	if err != nil {
		return math.NaN()
	}
	return delta
}

// ToleranceFactor returns the one-sided normal tolerance factor
//
//	k = t_{confidence; n-1, z sqrt(n)} / sqrt(n),   z = Phi^-1(fraction)
//
// for which P(mean + k s >= mu + z sigma) = confidence when mean and s come from
// n normal observations. A confidence below 1/2 gives the factor of the lower
// limit of the same quantile. n is from 2 to 1e9, fraction and confidence lie
// strictly between 0 and 1; anything else gives NaN.
//
// Source: ISO 16269-6, the noncentral-t form of the one-sided factor (from
// memory).
func ToleranceFactor(n int, fraction, confidence float64) float64 {
	if n < 2 || !(fraction > 0 && fraction < 1 && confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	root := math.Sqrt(float64(n))
	d := NoncentralT{Nu: float64(n - 1), Delta: NormalQuantile(fraction) * root}
	return d.Quantile(confidence) / root
}
