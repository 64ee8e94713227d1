package numeric

import "math"

// scorePoint is the normal score z of a probability, Phi(z) = P, and its first
// two derivatives with respect to the quantity being solved for. Against t or
// delta the score is nearly a straight line, the probability is not.
type scorePoint struct{ z, d1, d2 float64 }

// scoreAt turns a probability and its derivatives into a score. upper says that
// p is the upper tail while the derivatives are those of the lower one.
func scoreAt(p, d1, d2 float64, upper bool) scorePoint {
	z := NormalQuantile(p)
	if upper {
		z = -z
	}
	w := 1 / NormalDensity(z)
	d1 *= w
	return scorePoint{z: z, d1: d1, d2: d2*w + z*d1*d1}
}

// againstT and againstDelta give the score of P(T <= t) as a function of t and of
// delta. For upper the moments are those of the reflected problem (-t, -delta),
// so that p is the upper tail.
func (m *tailMoments) againstT(upper bool) scorePoint {
	if upper {
		return scoreAt(m.p, m.dp1, m.ap2, true)
	}
	return scoreAt(m.p, m.dp1, -m.ap2, false)
}

func (m *tailMoments) againstDelta(upper bool) scorePoint {
	if upper {
		return scoreAt(m.p, -m.dp0, m.ap0, true)
	}
	return scoreAt(m.p, -m.dp0, -m.ap0, false)
}

const (
	// halleySteps bounds the fast part of a solve.
	halleySteps = 6
	// halleyEnd is the distance, in normal scores, from which one Halley step
	// reaches the rounding of the probability: the step triples the digits.
	halleyEnd = 1e-5
)

// solveScore finds x with the score target, by Halley steps from x. It reports
// failure when they do not settle, which happens only from a poor start.
func solveScore(score func(x float64) scorePoint, target, x float64) (float64, bool) {
	for range halleySteps {
		s := score(x)
		miss := s.z - target
		step := miss / s.d1
		x -= step / (1 - 0.5*step*s.d2/s.d1)
		if math.Abs(miss) < halleyEnd {
			return x, x == x
		}
		if !(math.Abs(miss) < 10) {
			break
		}
	}
	return x, false
}

// noncentralT is P(T <= t) by moments: the smaller tail and whether that is the
// upper one.
func noncentralMoments(nu, t, delta float64) (m tailMoments, upper bool) {
	if t <= delta {
		return tailSums(nu, t, delta, true), false
	}
	return tailSums(nu, -t, -delta, true), true
}

// startT is a starting value for the t of score z: the root of
//
//	t m - delta = z sd - (z²-1) third/(6 sd²),   sd² = 1 + t² v,
//
// which takes t S - Z as normal with a first correction for skewness. Without
// the correction it is the approximation of Jennett and Welch.
func startT(nu, delta, z float64) float64 {
	m, v, third := chiMoments(nu)
	a := m*m - z*z*v
	if a < 0.1 {
		a = 0.1
	}
	t := (delta*m + z*math.Sqrt(math.Max(0, a+delta*delta*v))) / a
	sd2 := 1 + t*t*v
	sd := math.Sqrt(sd2)
	miss := t*m - delta - z*sd + (z*z-1)*t*t*t*third/(6*sd2)
	slope := m - z*t*v/sd
	if slope > 0.1*m {
		t -= miss / slope
	}
	return t
}

// startDelta is the same equation read for delta.
func startDelta(nu, t, z float64) float64 {
	m, v, third := chiMoments(nu)
	sd2 := 1 + t*t*v
	return t*m - z*math.Sqrt(sd2) + (z*z-1)*t*t*t*third/(6*sd2)
}
