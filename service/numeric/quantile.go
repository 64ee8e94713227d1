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
	case p > 0.5:
		return d.quantile(1-p, true)
	default:
		return d.quantile(p, false)
	}
}

// QuantileUpper returns the t with P(T > t) = q.
func (d NoncentralT) QuantileUpper(q float64) float64 {
	return -NoncentralT{Nu: d.Nu, Delta: -d.Delta}.Quantile(q)
}

// quantile solves for the t whose lower (or upper) tail is p <= 1/2.
func (d NoncentralT) quantile(p float64, upper bool) float64 {
	if upper {
		return -NoncentralT{Nu: d.Nu, Delta: -d.Delta}.quantile(p, false)
	}
	z := NormalQuantile(p)
	guess := jennettWelch(d.Nu, d.Delta, z)
	scale := math.Sqrt(1 + guess*guess/(2*d.Nu))
	// In y = asinh((t-guess)/scale) both a light and a heavy tail are nearly
	// straight lines of the normal score of the probability.
	y, err := RootNear(func(y float64) (float64, float64) {
		t := guess + scale*math.Sinh(y)
		v, dt, _ := normalScore(d.Nu, t, d.Delta)
		return v - z, dt * scale * math.Cosh(y)
	}, 0, 0.5, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return guess + scale*math.Sinh(y)
}

// NoncentralTDelta returns the noncentrality delta with P(T <= t; nu, delta) = p:
// the other way round of the CDF, which falls from one to zero as delta grows. nu
// is from 1 to 1e9, t is finite, 0 < p < 1; anything else gives NaN.
func NoncentralTDelta(nu, t, p float64) float64 {
	if !(nu >= minNu && nu <= maxNu) || math.IsInf(t, 0) || t != t || !(p > 0 && p < 1) {
		return math.NaN()
	}
	z := NormalQuantile(p)
	m, v := chiMoments(nu)
	scale := math.Sqrt(1 + t*t*v)
	delta, err := RootNear(func(delta float64) (float64, float64) {
		f, _, dd := normalScore(nu, t, delta)
		return f - z, dd
	}, t*m-z*scale, 0.5*scale, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return delta
}

// normalScore returns the z with Phi(z) = P(T <= t) and its derivatives with
// respect to t and delta.
func normalScore(nu, t, delta float64) (z, dt, ddelta float64) {
	var s tailSums
	if t <= delta {
		s = tailWithSlopes(nu, t, delta, true)
		z = NormalQuantile(s.value)
	} else {
		s = tailWithSlopes(nu, -t, -delta, true)
		z = -NormalQuantile(s.value)
	}
	d := NormalDensity(z)
	return z, s.dt / d, -s.ddelta / d
}

// jennettWelch is the classical approximation to the z quantile from
// T S - delta ~ N(0, 1) with S taken as normal.
func jennettWelch(nu, delta, z float64) float64 {
	m, v := chiMoments(nu)
	a := m*m - z*z*v
	if a <= 0.05 {
		a = 0.05
	}
	return (delta*m + z*math.Sqrt(math.Max(0, a+delta*delta*v))) / a
}

// chiMoments returns the mean of S and its variance, to about 1e-3.
func chiMoments(nu float64) (mean, variance float64) {
	mean = 1 - 1/(4*nu) + 1/(32*nu*nu)
	return mean, 1 - mean*mean
}

// ToleranceFactor returns the one-sided normal tolerance factor
//
//	k = t_{confidence; n-1, z sqrt(n)} / sqrt(n),   z = Phi^-1(fraction)
//
// for which P(mean + k s >= mu + z sigma) = confidence when mean and s come from
// n normal observations. A confidence below 1/2 gives the factor of the lower
// limit of the same quantile. n is at least 2, fraction and confidence lie
// strictly between 0 and 1; anything else gives NaN.
//
// Source: ISO 16269-6 (the noncentral-t form of the one-sided factor; from
// memory).
func ToleranceFactor(n int, fraction, confidence float64) float64 {
	if n < 2 || !(fraction > 0 && fraction < 1 && confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	root := math.Sqrt(float64(n))
	d := NoncentralT{Nu: float64(n - 1), Delta: NormalQuantile(fraction) * root}
	return d.Quantile(confidence) / root
}
