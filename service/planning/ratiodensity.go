package planning

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// ratioDensity is the density of UR = (ln L - mean)/s of n observations, T/sqrt(n) of the noncentral t with nu = n-1 degrees
// of freedom and noncentrality delta = sqrt(n) score:
//
//	f(t) = C (t²+nu)^(-(nu+1)/2) exp(-delta² nu/(2(t²+nu))) ∫_0^inf r^nu exp(-(r-x)²/2) dr,   x = t delta/sqrt(t²+nu),
//
// with C = 2 (nu/2)^(nu/2)/(Gamma(nu/2) sqrt(2 pi)).
type ratioDensity struct {
	nu, root, delta float64
	log             float64 // ln(C sqrt(n))
	step            float64 // a width of UR over which the density is smooth enough for one panel
}

func newRatioDensity(n, score float64) ratioDensity {
	nu := n - 1
	g, _ := math.Lgamma(nu / 2)
	h := ratioDensity{nu: nu, root: math.Sqrt(n), delta: math.Sqrt(n) * score}
	h.log = math.Ln2 + 0.5*nu*math.Log(nu/2) - g - 0.5*math.Log(2*math.Pi) + 0.5*math.Log(n)
	// The standard deviation of UR is about sqrt(1/n + score²/(2 nu)).
	const deviations = 5
	h.step = deviations * math.Sqrt(1/n+score*score/(2*nu))
	return h
}

// reach is the range of UR outside which the density no longer counts. Seen from the origin, the point (delta + Z, chi) has
// the direction atan(T/sqrt(nu)); it moves by about 1 across its distance sqrt(delta²+nu).
func (h ratioDensity) reach() (lo, hi float64) {
	const far = 9
	center := math.Atan2(h.delta, math.Sqrt(h.nu))
	turn := far / math.Sqrt(h.delta*h.delta+h.nu)
	scale := math.Sqrt(h.nu) / h.root
	lo, hi = math.Inf(-1), math.Inf(1)
	if a := center - turn; a > -math.Pi/2 {
		lo = scale * math.Tan(a)
	}
	if a := center + turn; a < math.Pi/2 {
		hi = scale * math.Tan(a)
	}
	return lo, hi
}

// at returns the density of UR at u.
func (h ratioDensity) at(u float64) float64 {
	t := h.root * u
	q := t*t + h.nu
	x := t * h.delta / math.Sqrt(q)
	return math.Exp(h.log - 0.5*(h.nu+1)*math.Log(q) - h.delta*h.delta*h.nu/(2*q) + logHalfMoment(int(h.nu), x))
}

// logHalfMoment is ln ∫_0^inf r^nu exp(-(r-x)²/2) dr. For x >= 0 the recurrence I_k = x I_{k-1} + (k-1) I_{k-2} adds
// positive terms only; for x < 0, which is the case of an exposure mostly above the limit, the integral is taken in ln r.
func logHalfMoment(nu int, x float64) float64 {
	if x < 0 {
		n := float64(nu)
		i, err := numeric.IntegratePeaked(func(y float64) float64 {
			r := math.Exp(y)
			return (n+1)*y - 0.5*(r-x)*(r-x)
		}, math.Log(0.5*(x+math.Sqrt(x*x+4*(n+1)))), 1/math.Sqrt(2*(n+1)))
		if err != nil {
			return math.Inf(-1)
		}
		return i.Log
	}
	const large, logLarge = 0x1p400, 400 * math.Ln2
	before, scale := math.Sqrt(2*math.Pi)*numeric.NormalCDF(x), 0.0
	value := math.Exp(-0.5*x*x) + x*before
	for k := 2; k <= nu; k++ {
		before, value = value, x*value+float64(k-1)*before
		if value > large {
			before, value, scale = before/large, value/large, scale+logLarge
		}
	}
	return scale + math.Log(value)
}
