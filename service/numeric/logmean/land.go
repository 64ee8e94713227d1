package logmean

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// Land returns the natural log of the one-sided confidence limit of a lognormal arithmetic mean
// exp(mu + sigma²/2), from n uncensored readings whose natural logs have the given mean and standard deviation (divisor
// n-1): over repeated samples ln mean <= limit holds with probability p exactly, so p = 0.95 gives the upper and p = 0.05
// the lower 95 % limit.
//
// The limit is solved from the exact conditional law, without tables or approximation. With theta the trial value of
// ln mean and Q = n(theta - mean)² + (n-1)sd², the direction v = sqrt(n)(theta - mean)/sqrt(Q) has, given Q, the density
//
//	(1-v²)^((n-3)/2) exp(kappa v) on [-1, 1], kappa = sqrt(n Q)/2,
//
// and the limit is the theta at which a v up to the observed one has probability p.
//
// It is good to 1e-10 of its distance from the mean of the logs, or of sd/sqrt(n) if that is larger. ErrMeanReadings,
// ErrMeanLogs and ErrMeanLevel refuse input outside the range each of them names; numeric.ErrNoConvergence says that the
// solution was not reached, and never comes with a number.
//
// Source: Land (1971), Annals of Mathematical Statistics 42, 1187; Land (1972), Technometrics 14, 145 (both from memory).
func Land(n int, mean, sd, p float64) (float64, error) {
	if err := checkMean(n, mean, sd); err != nil {
		return 0, err
	}
	if err := checkLevel(p); err != nil {
		return 0, err
	}
	l := meanScale{size: float64(n), spread: sd * math.Sqrt(float64(n-1))}
	w, err := solveLogit(l.landStart(p), p, l.land)
	if err != nil {
		return 0, err
	}
	return mean + l.distance(w), nil
}

// meanScale holds what both exact laws of the mean need. They are solved along w, where
//
//	theta - mean = spread/sqrt(n) sinh(w),
//
// because the log-odds of p are nearly a straight line in w where they are not one in theta: in the upper tail they rise
// like (n-1)/2 w for both laws.
type meanScale struct {
	size   float64 // n
	spread float64 // sd sqrt(n-1), the root of the sum of squares about the mean
}

// distance returns theta - mean at w.
func (l meanScale) distance(w float64) float64 { return l.spread / math.Sqrt(l.size) * math.Sinh(w) }

// land returns the log-odds of P(V <= v) in Land's conditional law and their slope and curvature along w. The direction is
// v = tanh(w) = cos(alpha), and the law is integrated along the angle alpha, where its density
// sin(alpha)^(n-2) exp(kappa cos(alpha)) is analytic up to both ends for every n.
func (l meanScale) land(w float64) logOdds {
	e := math.Exp(w)
	cosh := 0.5 * (e + 1/e)
	kappa := 0.5 * math.Sqrt(l.size) * l.spread * cosh
	law := newAngleLaw(l.size-2, kappa)
	alpha := 2 * math.Atan(1/e)
	upper := law.moments(alpha, law.reach(alpha, math.Pi))
	lower := law.moments(law.reach(alpha, 0), alpha)

	// Both the end of the integrals and kappa move with w: d alpha/dw = -sin(alpha) = -1/cosh(w), d kappa/dw = kappa
	// cos(alpha), called drift here. A common factor of both integrals drops out of the odds, so that cos - 1 can stand for
	// cos in the exponent: near alpha = 0 nothing cancels then.
	fall := 2 / (1 + e*e) // 1 - cos(alpha)
	cos := 1 - fall
	edge := math.Exp(law.log(alpha)) / cosh
	edgeSlope := edge * (kappa*fall - (l.size-1)*cos)
	drift := kappa * cos
	first := func(m angleMoments, edge float64) float64 { return edge - drift*m.first }
	second := func(m angleMoments, edge, edgeSlope float64) float64 {
		return edgeSlope - kappa*m.first - drift*(edge*fall-drift*m.second)
	}
	a1, b1 := first(upper, edge)/upper.mass, first(lower, -edge)/lower.mass
	a2, b2 := second(upper, edge, edgeSlope)/upper.mass, second(lower, -edge, -edgeSlope)/lower.mass
	return logOdds{
		value: math.Log(upper.mass / lower.mass),
		slope: a1 - b1,
		curve: (a2 - a1*a1) - (b2 - b1*b1),
	}
}

// landStart returns a w from which solveLogit needs one or two steps. It solves the third-order normal approximation
// r + ln(q/r)/r = z_p of the conditional law, r being the signed root of twice the fall of ln density from its mode and q
// the scaled slope (Barndorff-Nielsen 1986, from memory). Only the number of steps depends on it, never the limit.
func (l meanScale) landStart(p float64) float64 {
	const steps, enough, largest = 10, 0.003, 2.0
	z := numeric.NormalQuantile(p)
	variance := l.spread * l.spread / (l.size - 1)
	// The first trial is the delta method: ln mean has standard error sqrt(s²/n + s⁴/(2(n-1))).
	d := 0.5*variance + z*math.Sqrt(variance/l.size+variance*variance/(2*(l.size-1)))
	w := math.Asinh(d * math.Sqrt(l.size) / l.spread)
	miss := l.landScore(w) - z
	step := -miss / math.Sqrt(l.size)
	for range steps {
		w += max(-largest, min(largest, step))
		next := l.landScore(w) - z
		if math.Abs(step) < enough || next == miss {
			break
		}
		step *= next / (miss - next)
		miss = next
	}
	return w
}

// landScore is the approximate normal score of P(V <= v) at w; see landStart.
func (l meanScale) landScore(w float64) float64 {
	nu := l.size - 1
	e := math.Exp(w)
	cosh := 0.5 * (e + 1/e)
	kappa := 0.5 * math.Sqrt(l.size) * l.spread * cosh
	// Along w the density is sech(w)^(n-1) exp(kappa tanh(w)), with a mode inside for every n. The squares of sech and
	// the falls 1 - tanh, at the mode and at w:
	root := nu + math.Sqrt(nu*nu+4*kappa*kappa)
	modeSech, sech := 2*nu/root, 1/(cosh*cosh)
	modeTanh, fall := 2*kappa/root, 2/(1+e*e)
	drop := 0.5*nu*math.Log(modeSech/sech) + kappa*(fall-modeSech/(1+modeTanh))
	q := (nu*(1-fall) - kappa*sech) / math.Sqrt(modeSech*(nu+2*kappa*modeTanh))
	r := math.Copysign(math.Sqrt(2*max(drop, 0)), q)
	if math.Abs(r) < 1e-3 {
		return r
	}
	return r + math.Log(q/r)/r
}
