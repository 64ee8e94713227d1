package logmean

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// Pivotal returns the natural log of the one-sided limit at probability p of a lognormal arithmetic mean
// exp(mu + sigma²/2) from its generalized pivotal quantity, for n uncensored readings whose natural logs have the given mean
// and standard deviation (divisor n-1). It is the p-quantile of
//
//	mean + Z sd/(U sqrt(n)) + sd²/(2 U²), Z standard normal, U² chi-square over its n-1 degrees of freedom,
//
// and also that of mu + sigma²/2 under the reference prior 1/sigma: the two laws are the same.
//
// It is good to 2e-10 of its distance from the mean of the logs, or of sd/sqrt(n) if that is larger. Errors are those of
// Land.
//
// Source: Krishnamoorthy and Mathew (2003), Journal of Statistical Planning and Inference 115, 103 (from memory).
func Pivotal(n int, mean, sd, p float64) (float64, error) {
	if err := checkMean(n, mean, sd); err != nil {
		return 0, err
	}
	if err := checkLevel(p); err != nil {
		return 0, err
	}
	l := meanScale{size: float64(n), spread: sd * math.Sqrt(float64(n-1))}
	law := newPivotalLaw(l)
	w, err := solveLogit(l.landStart(p), p, law.at)
	if err != nil {
		return 0, err
	}
	return mean + l.distance(w), nil
}

// pivotalLaw is the law of the pivotal quantity less the mean of the logs, D. Given U, D <= d when Z <= a(U), so that
//
//	P(D <= d) = E Phi(a(U)), a(U) = rise U - fall/U, rise = sqrt(n) d/sd, fall = sqrt(n) sd/2,
//
// an integral over t = ln U, whose density is exp(nu (t - (e^{2t}-1)/2)) up to a factor.
type pivotalLaw struct {
	nu, fall float64
	logScale float64 // minus the log of the integral of that density
}

func newPivotalLaw(l meanScale) pivotalLaw {
	nu := l.size - 1
	half, _ := math.Lgamma(0.5 * nu)
	return pivotalLaw{
		nu:       nu,
		fall:     0.5 * math.Sqrt(l.size/nu) * l.spread,
		logScale: math.Ln2 - 0.5*nu*(1-math.Log(0.5*nu)) - half,
	}
}

// at returns the log-odds of P(D <= d) and their derivatives along the w of meanScale, where rise = sqrt(nu) sinh(w). Of the
// two tails the one away from U = 1 is integrated, and the other one is its complement. NaN says that the integral did not
// settle.
func (l *pivotalLaw) at(w float64) logOdds {
	sinh, cosh := math.Sinh(w), math.Cosh(w)
	rise := math.Sqrt(l.nu) * sinh
	g := pivotalGrid{law: l, rise: rise, side: 1}
	if rise > l.fall {
		g.side = -1
	}
	g.place()
	s, err := g.sum()
	if err != nil {
		return logOdds{value: math.NaN()}
	}
	p, q := s.tail, 1-s.tail
	value := math.Log(p) - math.Log1p(-p)
	if g.side < 0 {
		p, q, value = q, p, -value
	}
	first := math.Sqrt(l.nu) * cosh * s.first
	second := l.nu*cosh*cosh*s.second + rise*s.first
	slope := first / (p * q)
	return logOdds{value: value, slope: slope, curve: (second - slope*first*(q-p)) / (p * q)}
}

// pivotalSums are E Phi(side a), E U phi(a) and -E U² a phi(a): the tail and the derivatives of P(D <= d) along rise.
type pivotalSums struct{ tail, first, second float64 }

func (s *pivotalSums) add(o pivotalSums) {
	s.tail += o.tail
	s.first += o.first
	s.second += o.second
}

// pivotalGrid is a trapezoid rule in x for the integrals of one rise, with t = center + width (x + sinh(x)/10): evenly
// spaced where the integrand turns, ever wider in its tails.
type pivotalGrid struct {
	law           *pivotalLaw
	rise, side    float64
	center, width float64
}

// place centers the grid on the mode of the density times Phi(side a), found by Newton steps on the logarithm; or on the
// edge a = 0 where that is the sharpest feature. The sums converge from any center nearby, so a rough one will do.
func (g *pivotalGrid) place() {
	const steps, largest = 12, 0.5
	edge, t := 0.0, 0.0
	// The edge of Phi along t has a width of 1/sqrt(4 rise fall), the density one of 1/sqrt(2 nu).
	sharp := 4*g.rise*g.law.fall > g.law.nu
	switch {
	case sharp:
		edge = 0.5 * math.Log(g.law.fall/g.rise)
		t = min(edge, 0)
	case g.side*g.rise < 0:
		// Far in the tail Phi(side a) is nearly exp(-rise² U²/2).
		t = 0.5 * math.Log(g.law.nu/(g.law.nu+g.rise*g.rise))
	}
	for range steps {
		slope, curve, _ := g.shape(t)
		step := max(-largest, min(largest, slope/curve))
		t += step
		if step*step*curve < 0.01 {
			break
		}
	}
	_, curve, score := g.shape(t)
	if sharp && score > 0.5 {
		t = edge
		_, curve, _ = g.shape(t)
	}
	g.center, g.width = t, 1/math.Sqrt(curve)
}

// shape returns the slope and the downward curvature (kept positive) of the log integrand at t, and side a.
func (g *pivotalGrid) shape(t float64) (slope, curve, score float64) {
	u := math.Exp(t)
	up, down := g.rise*u, g.law.fall/u
	score = g.side * (up - down)
	mills := inverseMills(score)
	slope = g.law.nu*(1-u*u) + g.side*(up+down)*mills
	curve = 2*g.law.nu*u*u + (up+down)*(up+down)*mills*(score+mills) - score*mills
	return slope, max(curve, 0.1*g.law.nu*u*u), score
}

// inverseMills approximates phi(x)/Phi(x) to a percent or so, enough to place a grid.
func inverseMills(x float64) float64 {
	ratio := math.Pi / ((math.Pi-1)*math.Abs(x) + math.Sqrt(x*x+2*math.Pi)) // Phi(-|x|)/phi(x)
	if x <= 0 {
		return 1 / ratio
	}
	density := numeric.NormalDensity(x)
	return density / (1 - density*ratio)
}

// sum halves the spacing until two sums agree; the error of a trapezoid sum of an analytic integrand falls at least
// quadratically then, so the finer sum is good to the square of the agreement.
func (g *pivotalGrid) sum() (pivotalSums, error) {
	const spacing, agreement, halvings = 0.9, 1e-7, 8
	total := g.half(0, spacing)
	for h := spacing; h > spacing/(1<<halvings); h *= 0.5 {
		between := g.half(0.5*h, h)
		settled := math.Abs(between.tail-total.tail) <= agreement*total.tail &&
			math.Abs(between.first-total.first) <= agreement*total.first
		total.add(between)
		if settled {
			scale := 0.5 * h * g.width
			return pivotalSums{total.tail * scale, total.first * scale, total.second * scale}, nil
		}
	}
	return pivotalSums{}, numeric.ErrNoConvergence
}

// half returns the sum of the terms at first, first ± step, first ± 2 step, ... until they no longer matter.
func (g *pivotalGrid) half(first, step float64) pivotalSums {
	total := g.run(first, step)
	total.add(g.run(first-step, -step))
	return total
}

// run returns the sum of the terms from x on in one direction, NaN if it has no end.
func (g *pivotalGrid) run(x, step float64) pivotalSums {
	const negligible, least, most = 1e-14, 3, 2000
	var total pivotalSums
	for i := range most {
		s := g.term(x + float64(i)*step)
		total.add(s)
		if i > least && s.tail <= negligible*total.tail && s.first <= negligible*total.first {
			return total
		}
	}
	return pivotalSums{tail: math.NaN()}
}

// term is the integrand at x.
func (g *pivotalGrid) term(x float64) pivotalSums {
	e := math.Exp(x)
	t := g.center + g.width*(x+0.05*(e-1/e))
	u := math.Exp(t)
	weight := (1 + 0.05*(e+1/e)) * math.Exp(g.law.nu*(t-0.5*(u-1)*(u+1))+g.law.logScale)
	if weight == 0 {
		// Far out u may be 0 or infinite, and zero times infinity is no number.
		return pivotalSums{}
	}
	a := g.rise*u - g.law.fall/u
	s := pivotalSums{tail: weight * numeric.NormalCDF(g.side*a)}
	if s.first = weight * numeric.NormalDensity(a) * u; s.first > 0 {
		s.second = -s.first * a * u
	}
	return s
}

// PivotalCDF returns the probability that the generalized pivotal quantity of Pivotal is at most v, and its density there, for n
// uncensored readings whose natural logs have the given mean and standard deviation. Both are NaN outside the domain of Pivotal and
// when the integral did not settle.
func PivotalCDF(n int, mean, sd, v float64) (below, density float64) {
	if checkMean(n, mean, sd) != nil || math.IsNaN(v) {
		return math.NaN(), math.NaN()
	}
	l := meanScale{size: float64(n), spread: sd * math.Sqrt(float64(n-1))}
	law := newPivotalLaw(l)
	perUnit := math.Sqrt(l.size/law.nu) / sd
	w := math.Asinh((v - mean) * perUnit)
	odds := law.at(w)
	below = 1 / (1 + math.Exp(-odds.value))
	return below, odds.slope * below * (1 - below) * perUnit / math.Cosh(w)
}
