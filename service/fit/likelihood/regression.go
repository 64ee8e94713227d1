package likelihood

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// Regression is the maximum of the likelihood of several groups with one sigma, in which the mu of each group is linear in
// the coefficients: mu = x · coefficients with the group's row x of the design.
type Regression struct {
	// Coefficients are on the scale of ln reading, with Errors their standard errors from the observed information.
	Coefficients, Errors []float64
	// Sigma is the common standard deviation of ln reading and LogSpreadError the standard error of its logarithm.
	Sigma, LogSpreadError float64
	// LogLikelihood is that of ln reading: a reading with a value counts with the density of its logarithm.
	LogLikelihood float64
}

// Worth is the number of readings with a value that would tell as much of ln sigma: 1/(2 var ln sigma), the number of readings
// when all have a value.
func (r *Regression) Worth() float64 { return 1 / (2 * r.LogSpreadError * r.LogSpreadError) }

// Regress finds the maximum by Newton's method with a line search, in coefficients over sigma and 1/sigma, in which the
// likelihood is concave whatever the mixture of readings (Burridge 1981, JRSS B 43, 41; from memory). design has one row a
// group, of one length and with a 1 in front. The error is an Undetermined fault when the readings do not promise a maximum. What is
// asked for is enough, not always needed: that the groups that are not all on one side of their bounds determine every coefficient, and
// that some group, or the detected readings together, cannot be explained without a spread.
func Regress(groups [][]reading.Reading, design [][]float64) (Regression, error) {
	s := regression{groups: make([]Data, len(groups)), design: design, size: len(design[0])}
	var all []reading.Reading
	for i, g := range groups {
		s.groups[i] = NewData(g, 1)
		all = append(all, g...)
	}
	pooled := NewData(all, 1)
	center, spread := pooled.Rough()
	s.origin = center
	if err := s.promised(); err != nil {
		return Regression{}, err
	}
	at := make([]float64, s.size+1)
	at[s.size] = 1 / spread
	for range climbSteps {
		next, settled, ok := s.step(at)
		if !ok {
			break
		}
		at = next
		if settled {
			return s.summarize(at)
		}
	}
	return Regression{}, fault.Wrap(nil, "the maximum of the likelihood was not reached in %d steps", climbSteps)
}

// regression is the likelihood as a function of coefficients over sigma and, last, 1/sigma.
type regression struct {
	groups []Data
	design [][]float64
	size   int
	origin float64
}

// promised says whether the maximum is sure to exist.
func (s *regression) promised() error {
	held, detected := newNormal(s.size), newNormal(s.size)
	apart, bounded := false, false
	for i := range s.groups {
		d := &s.groups[i]
		other := d.Exact > 0 || len(d.Between) > 0
		if other || len(d.Below) > 0 && len(d.Above) > 0 {
			held.add(s.design[i], 1, 0, 0)
		}
		detected.add(s.design[i], d.Exact, d.Mean-s.origin, d.Squares)
		bounded = bounded || other
		floor, ceiling := d.common()
		apart = apart || floor > ceiling
	}
	switch {
	case !held.determined():
		return fault.Unsettled("a campaign in which every reading lies on one side of its bound has no mean to compare")
	case !bounded || !apart && !detected.scattered():
		return fault.Unsettled("the readings of each campaign could all be one value, so nothing sets a floor to the spread")
	}
	return nil
}

// normal is the matrix of the normal equations of weighted least squares, with the right-hand side and the sum of squares.
type normal struct {
	matrix         [][]float64
	right          []float64
	squares, total float64
}

func newNormal(size int) *normal { return &normal{matrix: square(size), right: make([]float64, size)} }

// add takes a group of a weight with a mean and the sum of squares about it.
func (n *normal) add(x []float64, weight, mean, squares float64) {
	if weight == 0 {
		return
	}
	for i, v := range x {
		n.right[i] += weight * v * mean
		for j, w := range x {
			n.matrix[i][j] += weight * v * w
		}
	}
	n.squares += weight*mean*mean + squares
	n.total += squares
}

// determined says whether the rows determine every coefficient.
func (n *normal) determined() bool {
	_, ok := invert(n.matrix)
	return ok
}

// scattered says whether the rows leave a residue, by more than rounding; it may say no when they do not determine the coefficients.
func (n *normal) scattered() bool {
	const rounding = 1e-9
	inverse, ok := invert(n.matrix)
	if !ok {
		return n.total > 0
	}
	explained := 0.0
	for i, row := range inverse {
		for j, v := range row {
			explained += n.right[i] * v * n.right[j]
		}
	}
	return n.squares-explained > rounding*n.squares
}

// at is the log-likelihood with its gradient and the negative of its second derivatives.
func (s *regression) at(p []float64) (value float64, gradient []float64, information [][]float64) {
	k := s.size
	gradient, information = make([]float64, k+1), square(k+1)
	for i := range s.groups {
		x := s.design[i]
		alpha := 0.0
		for j, v := range x {
			alpha += v * p[j]
		}
		g := Function{Data: &s.groups[i], Origin: s.origin}.At(alpha, p[k])
		value += g.Value
		gradient[k] += g.B
		information[k][k] -= g.BB
		for j, v := range x {
			gradient[j] += v * g.A
			information[j][k] -= v * g.AB
			information[k][j] -= v * g.AB
			for l, w := range x {
				information[j][l] -= v * w * g.AA
			}
		}
	}
	return value, gradient, information
}

// step makes one step and says whether it was the last.
func (s *regression) step(p []float64) (next []float64, settled, ok bool) {
	value, gradient, information := s.at(p)
	inverse, ok := invert(information)
	if !ok {
		return nil, false, false
	}
	move, gain := make([]float64, len(p)), 0.0
	for i := range move {
		for j, g := range gradient {
			move[i] += inverse[i][j] * g
		}
		gain += move[i] * gradient[i]
	}
	size := 1.0
	if m := move[s.size]; m < 0 {
		size = min(1, climbEdgeShare*p[s.size]/-m)
	}
	for range climbHalvings {
		next = make([]float64, len(p))
		for i := range p {
			next[i] = p[i] + size*move[i]
		}
		there, _, _ := s.at(next)
		if gain < climbFullStep || there >= value+climbGainShare*size*gain {
			return next, gain < climbSettled, true
		}
		size *= 0.5
	}
	return nil, false, false
}

// summarize moves from Burridge's parameters to coefficients and ln sigma, errors by the Jacobian.
func (s *regression) summarize(p []float64) (Regression, error) {
	value, _, information := s.at(p)
	covariance, ok := invert(information)
	if !ok {
		return Regression{}, fault.Wrap(nil, "the likelihood has no curvature at its maximum")
	}
	k, beta := s.size, p[s.size]
	r := Regression{
		Coefficients: make([]float64, k), Errors: make([]float64, k), Sigma: 1 / beta,
		LogSpreadError: math.Sqrt(covariance[k][k]) / beta, LogLikelihood: value,
	}
	for j := range k {
		c := p[j] / beta
		r.Coefficients[j] = c
		// c = p/beta, so that dc = (dp - c dbeta)/beta.
		r.Errors[j] = math.Sqrt(covariance[j][j]-2*c*covariance[j][k]+c*c*covariance[k][k]) / beta
	}
	r.Coefficients[0] += s.origin
	return r, nil
}

func square(n int) [][]float64 {
	rows, cells := make([][]float64, n), make([]float64, n*n)
	for i := range rows {
		rows[i] = cells[i*n : (i+1)*n]
	}
	return rows
}

// singular is the share of its diagonal below which a pivot is rounding.
const singular = 1e-12

// invert is the inverse of a positive definite matrix by Gauss and Jordan, without exchanges of rows, which it does not need.
// It is not ok when the matrix has no positive pivot left.
func invert(a [][]float64) (inverse [][]float64, ok bool) {
	n := len(a)
	work := square(n)
	inverse = square(n)
	for i := range n {
		copy(work[i], a[i])
		inverse[i][i] = 1
	}
	for i := range n {
		pivot := work[i][i]
		if !(pivot > singular*a[i][i]) {
			return nil, false
		}
		for j := range n {
			work[i][j] /= pivot
			inverse[i][j] /= pivot
		}
		for l := range n {
			factor := work[l][i]
			if l == i || factor == 0 {
				continue
			}
			for j := range n {
				work[l][j] -= factor * work[i][j]
				inverse[l][j] -= factor * inverse[i][j]
			}
		}
	}
	return inverse, true
}
