package numeric

import (
	"errors"
	"math"
)

var (
	// ErrNoBracket says that the function has the same sign at both ends of the
	// interval, or is NaN there, so no root can be promised.
	ErrNoBracket = errors.New("numeric: no sign change between the ends of the interval")
	// ErrNoConvergence says that the allowed number of steps was used up. The
	// value returned with it is the best point found, not an answer.
	ErrNoConvergence = errors.New("numeric: no convergence within the allowed steps")
)

const (
	// rootSteps bounds every root search. Bisection alone needs about 60 steps
	// for a well-scaled bracket and at most 1080 for any pair of doubles; Newton
	// needs 3 to 8.
	rootSteps = 200
	// rootTolerance is the relative size of the last Newton step. The error left
	// after that step is of the order of its square, or the noise of f.
	rootTolerance = 1e-11
	// rootFloor does the same for a root at zero, in units of the bracket.
	rootFloor = 1e-20
)

// Root finds the x between lo and hi where f crosses zero, by Newton steps that
// are kept inside the shrinking bracket and replaced by bisection whenever they
// leave it or converge too slowly.
//
// f returns its value and its slope. A slope of zero or NaN means unknown and is
// replaced by a secant, as is an infinite one; a wrong slope may end the search
// early, because the size of a Newton step is what tells how close the root is.
// The bracket must be finite with f of opposite sign (or zero) at its ends,
// otherwise ErrNoBracket. ErrNoConvergence comes with the best point found.
func Root(f func(x float64) (value, slope float64), lo, hi float64) (float64, error) {
	flo, _ := f(lo)
	if flo == 0 {
		return lo, nil
	}
	fhi, _ := f(hi)
	if fhi == 0 {
		return hi, nil
	}
	if flo != flo || fhi != fhi || (flo > 0) == (fhi > 0) || !finite(lo) || !finite(hi) {
		return math.NaN(), ErrNoBracket
	}
	return newton(f, lo, hi, lo+(hi-lo)*0.5, fhi > 0)
}

// RootNear is Root with a starting guess and a step instead of a bracket: it
// walks from the guess by growing steps until f changes sign, never leaving
// [lo, hi], which may be infinite. Use it when a good guess is at hand.
func RootNear(f func(x float64) (value, slope float64), guess, step, lo, hi float64) (float64, error) {
	x := math.Min(math.Max(guess, lo), hi)
	v, slope := f(x)
	if v == 0 {
		return x, nil
	}
	if v != v || !(step > 0) {
		return math.NaN(), ErrNoBracket
	}
	// The slope says on which side the root lies; without one, try both.
	dir := 1.0
	if v*slope > 0 {
		dir = -1
	}
	a, b, rising, err := walk(f, x, v, dir*step, lo, hi)
	if err != nil {
		a, b, rising, err = walk(f, x, v, -dir*step, lo, hi)
	}
	if err != nil {
		return math.NaN(), err
	}
	start := x - v/slope
	if !(start > a && start < b) {
		start = a + (b-a)*0.5
	}
	return newton(f, a, b, start, rising)
}

// walk steps away from x, where f is v, until the sign of f changes.
func walk(f func(float64) (float64, float64), x, v, step, lo, hi float64) (a, b float64, rising bool, err error) {
	for range rootSteps {
		next := math.Min(math.Max(x+step, lo), hi)
		if next == x || math.IsInf(next, 0) {
			break
		}
		w, _ := f(next)
		if w != w {
			break
		}
		if math.Signbit(w) != math.Signbit(v) || w == 0 {
			a, b = math.Min(x, next), math.Max(x, next)
			return a, b, (next > x) == (v < 0), nil
		}
		x, step = next, 2*step
	}
	return 0, 0, false, ErrNoBracket
}

// newton runs the safeguarded iteration inside a valid bracket; rising says
// whether f goes from negative to positive.
func newton(f func(float64) (float64, float64), lo, hi, x float64, rising bool) (float64, error) {
	last := hi - lo
	floor := rootFloor * last
	before, valueBefore := math.NaN(), math.NaN()
	for range rootSteps {
		v, slope := f(x)
		switch {
		case v == 0:
			return x, nil
		case v != v:
			return x, ErrNoConvergence
		case (v > 0) == rising:
			hi = x
		default:
			lo = x
		}
		if slope == 0 || !finite(slope) {
			slope = (v - valueBefore) / (x - before)
		}
		next := x - v/slope
		step := math.Abs(next - x)
		// Only a Newton step says how close the root is: not the small step of a
		// bisection, and not the zero step of an infinite slope.
		if step <= rootTolerance*math.Abs(x)+floor && finite(slope) {
			return math.Min(math.Max(next, lo), hi), nil
		}
		// A step that leaves the bracket, or is not at most half of the one
		// before, is replaced by bisection: that bounds the number of steps.
		if !(next > lo && next < hi) || !(step < 0.5*last) {
			next = lo + (hi-lo)*0.5
			if next == lo || next == hi {
				return next, nil
			}
		}
		last = math.Abs(next - x)
		before, valueBefore = x, v
		x = next
	}
	return x, ErrNoConvergence
}
