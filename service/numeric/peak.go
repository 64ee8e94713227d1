package numeric

import (
	"errors"
	"math"
)

// ErrNoPeak says that the logarithm of the integrand does not fall off on both
// sides within the searched range, or is not finite where it was asked for: the
// integral may not exist.
var ErrNoPeak = errors.New("numeric: integrand has no peak that falls off on both sides")

const (
	// peakSteps bounds each search of FindPeak.
	peakSteps = 200
	// integrandDrop is the fall in ln f, from the mode, beyond which the tails of
	// an integral are dropped: e^-40 is 4e-18.
	integrandDrop = 40
	// trapezoidStart is the number of intervals of the first trapezoid sum, and
	// trapezoidHalvings bounds the refinements.
	trapezoidStart    = 24
	trapezoidHalvings = 8
)

// Peak describes a function e^{ln f} of one variable with a single maximum that
// falls off on both sides.
type Peak struct {
	// Mode is the place of the maximum, to about a fifth of the standard deviation
	// of a normal peak; LogMax is ln f there, within 0.02 of the maximum.
	Mode, LogMax float64
	// Lo and Hi are places on either side where ln f is at least the requested
	// drop below LogMax, not much farther out than needed.
	Lo, Hi float64
}

// FindPeak locates the maximum of a log-concave (or merely unimodal) function and
// the range around it that matters, starting at guess with steps of the size of
// scale. logf may return -Inf where the function is zero. The drop is the fall in
// ln f, in powers of e, that bounds the range: 40 for a full-precision integral.
//
// ErrNoPeak is returned when logf is NaN or +Inf somewhere it is asked, is -Inf
// at the guess, or does not fall off within 1e60 scales.
func FindPeak(logf func(x float64) float64, guess, scale, drop float64) (Peak, error) {
	if !(scale > 0) || !finite(guess) || !finite(logf(guess)) {
		return Peak{}, ErrNoPeak
	}
	a, m, b, err := climb(logf, guess, scale)
	if err != nil {
		return Peak{}, err
	}
	p := Peak{}
	p.Mode, p.LogMax = golden(logf, a, m, b)
	if p.Lo, err = fallOff(logf, p.Mode, p.Mode-a, -1, p.LogMax-drop); err != nil {
		return Peak{}, err
	}
	p.Hi, err = fallOff(logf, p.Mode, b-p.Mode, 1, p.LogMax-drop)
	return p, err
}

func finite(x float64) bool { return !math.IsInf(x, 0) && x == x }

// climb returns a < m < b with ln f at m at least as high as at both ends.
func climb(logf func(float64) float64, x, step float64) (a, m, b float64, err error) {
	a, m, b = x-step, x, x+step
	fa, fm, fb := logf(a), logf(m), logf(b)
	for range peakSteps {
		switch {
		case fa != fa || fb != fb || math.IsInf(fm, 1):
			return 0, 0, 0, ErrNoPeak
		case fa > fm:
			step *= 2
			b, m, a = m, a, a-step
			fb, fm, fa = fm, fa, logf(a)
		case fb > fm:
			step *= 2
			a, m, b = m, b, b+step
			fa, fm, fb = fm, fb, logf(b)
		default:
			return a, m, b, nil
		}
	}
	return 0, 0, 0, ErrNoPeak
}

// golden narrows a bracket of the maximum by golden sections until ln f is within
// 0.02 of its top at both ends: the integral needs no better.
func golden(logf func(float64) float64, a, m, b float64) (mode, top float64) {
	const (
		section = 0.381966011250105
		flat    = 0.02
	)
	fa, top, fb := logf(a), logf(m), logf(b)
	for range peakSteps {
		if top-fa < flat && top-fb < flat {
			break
		}
		right := b-m > m-a
		x := m - section*(m-a)
		if right {
			x = m + section*(b-m)
		}
		f := logf(x)
		switch {
		case f > top && right:
			a, fa, m, top = m, top, x, f
		case f > top:
			b, fb, m, top = m, top, x, f
		case right:
			b, fb = x, f
		default:
			a, fa = x, f
		}
	}
	return m, top
}

// fallOff returns a place beyond mode in direction dir where ln f is below level,
// within a tenth of the distance of the nearest such place.
func fallOff(logf func(float64) float64, mode, step, dir, level float64) (float64, error) {
	near, far := 0.0, step
	found := false
	for range peakSteps {
		f := logf(mode + dir*far)
		if f != f {
			return 0, ErrNoPeak
		}
		if f < level {
			found = true
			break
		}
		near, far = far, 2*far
	}
	if !found {
		return 0, ErrNoPeak
	}
	for far-near > 0.1*far {
		mid := 0.5 * (near + far)
		if logf(mode+dir*mid) < level {
			far = mid
		} else {
			near = mid
		}
	}
	return mode + dir*far, nil
}

// LogIntegral is the outcome of IntegratePeaked.
type LogIntegral struct {
	// Log is the natural logarithm of the integral.
	Log float64
	// Error estimates the relative error of the integral.
	Error float64
	// Peak is where the integrand sits.
	Peak Peak
}

// IntegratePeaked integrates e^{logf} over the whole line for an analytic,
// unimodal integrand that decays at least exponentially on both sides, by the
// trapezoid rule over the range that FindPeak gives; for such integrands it
// converges geometrically. Substitute first (x = e^u, for instance) when the
// integrand ends at a boundary. Only logarithms are exchanged, so the integrand
// may be as large or small as it likes.
//
// The spacing is halved until two sums agree to 1e-7, which makes the finer one
// good to about 1e-13. If that never happens ErrNoConvergence is returned with
// the last value and its error.
func IntegratePeaked(logf func(x float64) float64, guess, scale float64) (LogIntegral, error) {
	p, err := FindPeak(logf, guess, scale, integrandDrop)
	if err != nil {
		return LogIntegral{}, err
	}
	h := (p.Hi - p.Lo) / trapezoidStart
	sum := func(first, step float64) float64 {
		total := 0.0
		for i := 0; ; i++ {
			x := first + float64(i)*step
			if x > p.Hi {
				return total
			}
			total += math.Exp(logf(x) - p.LogMax)
		}
	}
	total := sum(p.Lo, h)
	for range trapezoidHalvings {
		odd := sum(p.Lo+0.5*h, h)
		gap := math.Abs(odd-total) / (odd + total)
		total += odd
		h *= 0.5
		if gap <= 1e-7 {
			return LogIntegral{Log: p.LogMax + math.Log(total*h), Error: math.Max(gap*gap, 1e-15), Peak: p}, nil
		}
		err = ErrNoConvergence
	}
	return LogIntegral{Log: p.LogMax + math.Log(total*h), Error: 1, Peak: p}, err
}
