// Package likelihood reduces a group of readings, some of which may have no value, to what the lognormal's likelihood needs,
// and answers for that likelihood: its maximum and when it has one, its profiles, and when a posterior from it is proper.
package likelihood

import "math"

// Function is the log-likelihood of a group in Burridge's parameters
//
//	alpha = (mu - origin)/sigma,   beta = 1/sigma,
//
// in which it is concave whatever the mixture of detected and censored readings: each reading gives ln beta - z²/2 or the
// logarithm of a normal probability between bounds z, and z = beta (y - origin) - alpha is linear in the parameters. The
// origin keeps y - origin small, so that data of any unit are equally well conditioned.
//
// Source: Burridge (1981), JRSS B 43, 41, "A note on maximum likelihood estimation for regression models using grouped data"
// (from memory).
type Function struct {
	// Data are the readings and Origin the point of ln reading from which mu is measured.
	Data   *Data
	Origin float64
}

// Surface is the log-likelihood at one point, with its first and second derivatives by alpha (A) and beta (B).
type Surface struct {
	Value, A, B, AA, AB, BB float64
}

// At evaluates the log-likelihood of ln reading. beta is greater than 0, or 0 when there are only one-sided readings.
func (l Function) At(alpha, beta float64) Surface {
	var s Surface
	if l.Data.Exact > 0 {
		s.addDetected(l.Data, l.Data.Mean-l.Origin, alpha, beta)
	}
	for _, p := range l.Data.Below {
		y := p.At - l.Origin
		s.AddTail(y, p.Weight, 1, TailBelow(beta*y-alpha))
	}
	for _, p := range l.Data.Above {
		y := p.At - l.Origin
		s.AddTail(y, p.Weight, -1, TailBelow(alpha-beta*y))
	}
	for _, p := range l.Data.Between {
		middle := p.Lower + 0.5*(p.Upper-p.Lower) - l.Origin
		s.addBand(BandTerm(middle, 0.5*(p.Upper-p.Lower), alpha, beta), p.Weight)
	}
	return s
}

// addDetected adds the readings with a value; y is their mean from the origin.
func (s *Surface) addDetected(d *Data, y, alpha, beta float64) {
	z := beta*y - alpha
	s.Value += d.Exact*(math.Log(beta)-logRootTwoPi) - 0.5*(d.Exact*z*z+beta*beta*d.Squares)
	s.A += d.Exact * z
	s.B += d.Exact/beta - d.Exact*z*y - beta*d.Squares
	s.AA -= d.Exact
	s.AB += d.Exact * y
	s.BB -= d.Exact/(beta*beta) + d.Exact*y*y + d.Squares
}

// AddTail adds the readings on one side of y: below it for side = 1, above it for side = -1.
func (s *Surface) AddTail(y, weight, side float64, t tailTerm) {
	slope, bend := side*weight*t.slope, weight*t.bend
	s.Value += weight * t.value
	s.A -= slope
	s.B += slope * y
	s.AA -= bend
	s.AB += bend * y
	s.BB -= bend * y * y
}

func (s *Surface) addBand(t Surface, weight float64) {
	s.Value += weight * t.Value
	s.A += weight * t.A
	s.B += weight * t.B
	s.AA += weight * t.AA
	s.AB += weight * t.AB
	s.BB += weight * t.BB
}

// narrowLimit is the width times slope under which a band is integrated rather than subtracted: below it the density inside the
// band stays between 1/2 and 2 times that of the middle.
const narrowLimit = 0.5

// BandTerm is the logarithm of the probability of a band of half width h around y.
func BandTerm(y, h, alpha, beta float64) Surface {
	middle, half := beta*y-alpha, beta*h
	if half*(1+math.Abs(middle)) < narrowLimit {
		return narrowBand(y, h, middle, beta)
	}
	a, b := middle-half, middle+half
	t := sliceBetween(a, b)
	lower, upper := y-h, y+h
	aa, ab, bb := t.lower*(a-t.lower), t.lower*t.upper, -t.upper*(b+t.upper)
	return Surface{
		Value: t.value,
		A:     t.lower - t.upper,
		B:     t.upper*upper - t.lower*lower,
		AA:    aa + 2*ab + bb,
		AB:    -(aa*lower + ab*(lower+upper) + bb*upper),
		BB:    aa*lower*lower + 2*ab*lower*upper + bb*upper*upper,
	}
}

// narrowBand averages the derivatives of the density of one reading over the band: with f = ln beta - z²/2 they are
//
//	E f', and E f" + Var f',
//
// where E and Var are over the readings that the band allows (Louis 1982, from memory). As the band shrinks to a point, Var
// goes to 0 and the term to that of a detected reading, plus the logarithm of the width. The reading inside is y + h t with
// -1 < t < 1, and z = middle + half t.
func narrowBand(y, h, middle, beta float64) Surface {
	half := beta * h
	mass, t1, v11, v12, v22 := bandMoments(half*middle, 0.5*half*half)
	// z (y + h t) = const + p t + r t².
	p, r := middle*h+half*y, half*h
	mean := y + h*t1
	t2 := v11 + t1*t1
	return Surface{
		Value: math.Log(half*mass) - 0.5*middle*middle - logRootTwoPi,
		A:     middle + half*t1,
		B:     1/beta - (middle*y + p*t1 + r*t2),
		AA:    half*half*v11 - 1,
		AB:    mean - half*(p*v11+r*v12),
		BB:    p*p*v11 + 2*p*r*v12 + r*r*v22 - 1/(beta*beta) - (mean*mean + h*h*v11),
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
