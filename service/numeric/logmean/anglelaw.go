package logmean

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// angleLaw is the unnormalized density f(alpha) = sin(alpha)^power exp(kappa cos(alpha)) on [0, pi], scaled to 1 at its
// mode, for power >= 0 and kappa >= 0.
type angleLaw struct {
	power, kappa float64
	mode         float64
	sinMode      float64
	fallMode     float64 // 1 - cos(mode)
	width        float64 // 1/sqrt of the curvature of -ln f at the mode, or a little less
}

func newAngleLaw(power, kappa float64) angleLaw {
	l := angleLaw{power: power, kappa: kappa, sinMode: 1, width: 1 / math.Sqrt(kappa+1)}
	if power > 0 {
		// The mode solves power cos = kappa sin².
		root := power + math.Sqrt(power*power+4*kappa*kappa)
		cos, sin2 := 2*kappa/root, 2*power/root
		l.sinMode = math.Sqrt(sin2)
		l.mode = math.Atan2(l.sinMode, cos)
		l.fallMode = sin2 / (1 + cos)
		l.width = 1 / math.Sqrt(power/sin2+kappa*cos)
	}
	return l
}

// log returns ln f.
func (l *angleLaw) log(alpha float64) float64 {
	sin, cos := math.Sincos(0.5 * alpha)
	return l.logHalf(sin, cos)
}

// logHalf returns ln f from the sine and cosine of half the angle, which keep their digits near 0.
func (l *angleLaw) logHalf(sin, cos float64) float64 {
	g := -l.kappa * (2*sin*sin - l.fallMode)
	if l.power > 0 {
		g += l.power * math.Log(2*sin*cos/l.sinMode)
	}
	return g
}

// slope returns the derivative of ln f.
func (l *angleLaw) slope(alpha float64) float64 {
	sin, cos := math.Sincos(alpha)
	if l.power == 0 {
		return -l.kappa * sin
	}
	return l.power*cos/sin - l.kappa*sin
}

// reach returns how far the integral from alpha toward end, which is 0 or pi, has to go: to where f has fallen by about
// exp(-26) below its largest value on the way, or to the end.
func (l *angleLaw) reach(alpha, end float64) float64 {
	const drop, least, most, steps = 24.5, 23.5, 30, 8
	from, toward := alpha, 1.0
	if end == 0 {
		toward = -1
	}
	if toward*(l.mode-alpha) > 0 {
		from = l.mode
	}
	top := l.log(from)
	slope := math.Abs(l.slope(from))
	at := from + toward*2*drop/(slope+math.Sqrt(slope*slope+2*drop/(l.width*l.width)))
	// ln f is concave wherever it falls this far within a right angle, so Newton steps overshoot once and then close in
	// from outside.
	for range steps {
		if toward*(at-end) >= 0 {
			return end
		}
		fall := top - l.log(at)
		if fall >= least && fall <= most {
			return at
		}
		at += (fall - drop) / l.slope(at)
	}
	return end
}

// angleMoments are integrals of f, f (1-cos) and f (1-cos)².
type angleMoments struct{ mass, first, second float64 }

// moments integrates over [lo, hi], in one panel when it is short enough for the rule to be exact to about 1e-12.
func (l *angleLaw) moments(lo, hi float64) angleMoments {
	const panelWidths = 11
	length := hi - lo
	if length <= panelWidths*l.width {
		return l.panel(lo, hi)
	}
	cut := max(lo+length/3, min(l.mode, hi-length/3))
	a, b := l.panel(lo, cut), l.panel(cut, hi)
	return angleMoments{a.mass + b.mass, a.first + b.first, a.second + b.second}
}

// panel is one application of the 20-point Gauss–Legendre rule.
func (l *angleLaw) panel(lo, hi float64) angleMoments {
	var m angleMoments
	half := 0.5 * (hi - lo)
	sin, cos := math.Sincos(0.25 * (lo + hi))
	for _, g := range numeric.GaussRule() {
		// One sine and cosine serve both nodes of a pair.
		s, c := math.Sincos(0.5 * half * g.Node)
		m.add(l, sin*c+cos*s, cos*c-sin*s, g.Weight)
		m.add(l, sin*c-cos*s, cos*c+sin*s, g.Weight)
	}
	return angleMoments{m.mass * half, m.first * half, m.second * half}
}

// add adds a node, given by the sine and cosine of half its angle.
func (m *angleMoments) add(l *angleLaw, sin, cos, weight float64) {
	fall := 2 * sin * sin
	f := weight * math.Exp(l.logHalf(sin, cos))
	m.mass += f
	m.first += f * fall
	m.second += f * fall * fall
}
