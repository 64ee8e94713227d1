package posterior

import (
	"math"

	"example.com/tailbound/service/numeric"
)

const (
	// phiFirst and phiLast bound the table of ln Phi; above phiLast it is 0 to rounding, below phiFirst it is computed directly.
	phiFirst, phiLast = -12, 8.25
	// phiPerUnit cells a unit and phiTerms terms leave out (1/16 / 2.8)^9, about 1e-15: the zeros of Phi nearest to the real axis
	// lie 2.8 away from it.
	phiPerUnit = 8
	phiTerms   = 9
	phiCells   = int((phiLast-phiFirst)*phiPerUnit) + 1
)

// phiTable gives ln Phi from Taylor series about fixed points, which are worked out when first met: an assessment asks for some
// ten thousand values of ln Phi but touches a hundred cells. Its zero value is ready. It is not safe for concurrent use.
type phiTable [phiCells][phiTerms]float64

// log returns ln Phi(x), to a few units in the last place of it or of 1, whichever is larger.
func (t *phiTable) log(x float64) float64 {
	if !(x > phiFirst && x < phiLast) {
		return phiOutside(x)
	}
	at := (x - phiFirst) * phiPerUnit
	i := int(at + 0.5)
	c := &t[i]
	if c[0] == 0 {
		*c = phiSeries(phiFirst + float64(i)/phiPerUnit)
	}
	d := (at - float64(i)) * (1.0 / phiPerUnit)
	d2 := d * d
	d4 := d2 * d2
	return (c[0] + c[1]*d) + (c[2]+c[3]*d)*d2 + ((c[4]+c[5]*d)+(c[6]+c[7]*d)*d2+c[8]*d4)*d4
}

func phiOutside(x float64) float64 {
	if x >= phiLast {
		return 0
	}
	return numeric.LogNormalCDF(x)
}

// addTail adds weight · ln Phi(y b + t) to each sum: log, written out.
func (t *phiTable) addTail(sums, b, shift []float64, y, weight float64) {
	b, shift = b[:len(sums)], shift[:len(sums)]
	for k := range sums {
		x := y*b[k] + shift[k]
		if !(x > phiFirst && x < phiLast) {
			sums[k] += weight * phiOutside(x)
			continue
		}
		at := (x - phiFirst) * phiPerUnit
		i := int(at + 0.5)
		c := &t[i]
		if c[0] == 0 {
			*c = phiSeries(phiFirst + float64(i)/phiPerUnit)
		}
		d := (at - float64(i)) * (1.0 / phiPerUnit)
		d2 := d * d
		d4 := d2 * d2
		sums[k] += weight * ((c[0] + c[1]*d) + (c[2]+c[3]*d)*d2 + ((c[4]+c[5]*d)+(c[6]+c[7]*d)*d2+c[8]*d4)*d4)
	}
}

// phiSeries returns the Taylor coefficients of ln Phi at x. Its derivative R = phi/Phi obeys R' = -(x + R) R, which gives one
// coefficient after the other.
func phiSeries(x float64) [phiTerms]float64 {
	var l, r [phiTerms]float64
	l[0] = numeric.LogNormalCDF(x)
	r[0] = math.Exp(-0.5*x*x - lnSqrt2Pi - l[0])
	for k := range phiTerms - 1 {
		l[k+1] = r[k] / float64(k+1)
		sum := x * r[k]
		if k > 0 {
			sum += r[k-1]
		}
		for i := range k + 1 {
			sum += r[i] * r[k-i]
		}
		r[k+1] = -sum / float64(k+1)
	}
	return l
}

// lnSqrt2Pi is ln sqrt(2 pi).
const lnSqrt2Pi = 0.918938533204672741780329736405617639861397473637783412817152

// bandSeam is the fall of ln Phi across a band under which the difference would lose more than two digits.
const bandSeam = 0.02

// logBand returns ln(Phi(b) - Phi(a)) for a < b.
func (t *phiTable) logBand(a, b float64) float64 {
	if a+b > 0 {
		a, b = -b, -a
	}
	lb := t.log(b)
	fall := t.log(a) - lb
	if fall < -bandSeam {
		return lb + math.Log(1-math.Exp(fall))
	}
	// The density over a band of half width h about m, relative to phi(m), averages to that of exp(-m t - t²/2) over -h < t < h.
	// The first four cumulants of the exponent leave (m h)^6/2835 out.
	m, h := 0.5*(a+b), 0.5*(b-a)
	m2, h2 := m*m, h*h
	return math.Log(2*h) - 0.5*m2 - lnSqrt2Pi + h2*((m2-1)/6+h2*(2-m2*(4+m2))/180)
}
