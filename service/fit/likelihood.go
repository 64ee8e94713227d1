package fit

import "math"

// likelihood is the log-likelihood of a group in Burridge's parameters
//
//	alpha = (mu - origin)/sigma,   beta = 1/sigma,
//
// in which it is concave whatever the mixture of detected and censored readings: each reading gives ln beta - z²/2 or the
// logarithm of a normal probability between bounds z, and z = beta (y - origin) - alpha is linear in the parameters. The
// origin keeps y - origin small, so that data of any unit are equally well conditioned.
//
// Source: Burridge (1981), JRSS B 43, 41, "A note on maximum likelihood estimation for regression models using grouped data"
// (from memory).
type likelihood struct {
	d      *data
	origin float64
}

// surface is the log-likelihood at one point, with its first and second derivatives by alpha (a) and beta (b).
type surface struct {
	value, a, b, aa, ab, bb float64
}

// at evaluates the log-likelihood of ln reading. beta is greater than 0, or 0 when there are only one-sided readings.
func (l likelihood) at(alpha, beta float64) surface {
	var s surface
	if l.d.exact > 0 {
		s.addDetected(l.d, l.d.mean-l.origin, alpha, beta)
	}
	for _, p := range l.d.below {
		y := p.at - l.origin
		s.addTail(y, p.weight, 1, tailBelow(beta*y-alpha))
	}
	for _, p := range l.d.above {
		y := p.at - l.origin
		s.addTail(y, p.weight, -1, tailBelow(alpha-beta*y))
	}
	for _, p := range l.d.between {
		middle := p.lower + 0.5*(p.upper-p.lower) - l.origin
		s.addBand(bandTerm(middle, 0.5*(p.upper-p.lower), alpha, beta), p.weight)
	}
	return s
}

// addDetected adds the readings with a value; y is their mean from the origin.
func (s *surface) addDetected(d *data, y, alpha, beta float64) {
	z := beta*y - alpha
	s.value += d.exact*(math.Log(beta)-logRootTwoPi) - 0.5*(d.exact*z*z+beta*beta*d.squares)
	s.a += d.exact * z
	s.b += d.exact/beta - d.exact*z*y - beta*d.squares
	s.aa -= d.exact
	s.ab += d.exact * y
	s.bb -= d.exact/(beta*beta) + d.exact*y*y + d.squares
}

// addTail adds the readings on one side of y: below it for side = 1, above it for side = -1.
func (s *surface) addTail(y, weight, side float64, t tailTerm) {
	slope, bend := side*weight*t.slope, weight*t.bend
	s.value += weight * t.value
	s.a -= slope
	s.b += slope * y
	s.aa -= bend
	s.ab += bend * y
	s.bb -= bend * y * y
}

func (s *surface) addBand(t surface, weight float64) {
	s.value += weight * t.value
	s.a += weight * t.a
	s.b += weight * t.b
	s.aa += weight * t.aa
	s.ab += weight * t.ab
	s.bb += weight * t.bb
}

// narrowLimit is the width times slope under which a band is integrated rather than subtracted: below it the density inside the
// band stays between 1/2 and 2 times that of the middle.
const narrowLimit = 0.5

// bandTerm is the logarithm of the probability of a band of half width h around y.
func bandTerm(y, h, alpha, beta float64) surface {
	middle, half := beta*y-alpha, beta*h
	if half*(1+math.Abs(middle)) < narrowLimit {
		return narrowBand(y, h, middle, beta)
	}
	a, b := middle-half, middle+half
	t := sliceBetween(a, b)
	lower, upper := y-h, y+h
	aa, ab, bb := t.lower*(a-t.lower), t.lower*t.upper, -t.upper*(b+t.upper)
	return surface{
		value: t.value,
		a:     t.lower - t.upper,
		b:     t.upper*upper - t.lower*lower,
		aa:    aa + 2*ab + bb,
		ab:    -(aa*lower + ab*(lower+upper) + bb*upper),
		bb:    aa*lower*lower + 2*ab*lower*upper + bb*upper*upper,
	}
}

// narrowBand averages the derivatives of the density of one reading over the band: with f = ln beta - z²/2 they are
//
//	E f', and E f" + Var f',
//
// where E and Var are over the readings that the band allows (Louis 1982, from memory). As the band shrinks to a point, Var
// goes to 0 and the term to that of a detected reading, plus the logarithm of the width. The reading inside is y + h t with
// -1 < t < 1, and z = middle + half t.
func narrowBand(y, h, middle, beta float64) surface {
	half := beta * h
	mass, t1, v11, v12, v22 := bandMoments(half*middle, 0.5*half*half)
	// z (y + h t) = const + p t + r t².
	p, r := middle*h+half*y, half*h
	mean := y + h*t1
	t2 := v11 + t1*t1
	return surface{
		value: math.Log(half*mass) - 0.5*middle*middle - logRootTwoPi,
		a:     middle + half*t1,
		b:     1/beta - (middle*y + p*t1 + r*t2),
		aa:    half*half*v11 - 1,
		ab:    mean - half*(p*v11+r*v12),
		bb:    p*p*v11 + 2*p*r*v12 + r*r*v22 - 1/(beta*beta) - (mean*mean + h*h*v11),
	}
}

// bandMoments returns the integral of exp(-c t - k t²) over -1 < t < 1, and under that density the mean of t, its variance,
// its covariance with t² and the variance of t². Eight Gauss–Legendre nodes are exact to rounding for |c| + k <= narrowLimit.
func bandMoments(c, k float64) (mass, t1, v11, v12, v22 float64) {
	nodes := [4]float64{0.1834346424956498049, 0.5255324099163289858, 0.7966664774136267396, 0.9602898564975362317}
	weights := [4]float64{0.3626837833783619830, 0.3137066458778872873, 0.2223810344533744705, 0.1012285362903762591}
	var s1, s2, s3, s4 float64
	for i, t := range nodes {
		even := weights[i] * math.Exp(-k*t*t)
		up, down := even*math.Exp(-c*t), even*math.Exp(c*t)
		sum, difference := up+down, up-down
		mass += sum
		s1 += difference * t
		s2 += sum * t * t
		s3 += difference * t * t * t
		s4 += sum * t * t * t * t
	}
	t1, t2 := s1/mass, s2/mass
	return mass, t1, t2 - t1*t1, s3/mass - t1*t2, s4/mass - t2*t2
}
