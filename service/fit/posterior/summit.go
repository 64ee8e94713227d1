package posterior

import "math"

// summit is the place where a density in (mu, lambda) is largest, with the covariance of the normal density that fits there.
// Grids are laid about it; it decides how much work is done, never the answer.
type summit struct {
	mu, lambda    float64
	vmm, vml, vll float64
}

const (
	summitSteps    = 60
	summitHalvings = 30
	// summitSettled is the length of a step, in standard deviations, after which the search ends.
	summitSettled = 0.02
	// summitStride is the first stride of the finite differences in ln sigma and summitLongest the longest step.
	summitStride, summitLongest = 0.1, 1
)

// values returns the density at places (mu, lambda).
func (f *density) values(p *batch, places ...[2]float64) []float64 {
	p.sized(len(places))
	p.anchor = 0
	for k, x := range places {
		b := math.Exp(-x[1])
		p.b[k], p.t[k], p.lambda[k], p.log[k] = b, -x[0]*b, x[1], 0
	}
	f.logs(p)
	return p.log
}

// slopes are the value and the first and second differences of a density at a place, over one stride in each direction.
type slopes struct{ value, m, l, mm, ml, ll float64 }

func (f *density) slopes(p *batch, mu, lambda, dm, dl float64) slopes {
	v := f.values(p, [2]float64{mu, lambda}, [2]float64{mu + dm, lambda}, [2]float64{mu - dm, lambda},
		[2]float64{mu, lambda + dl}, [2]float64{mu, lambda - dl}, [2]float64{mu + dm, lambda + dl}, [2]float64{mu - dm, lambda - dl})
	s := slopes{value: v[0]}
	mp, mn, lp, ln := v[1]-s.value, v[2]-s.value, v[3]-s.value, v[4]-s.value
	s.m, s.l, s.mm, s.ll = 0.5*(mp-mn), 0.5*(lp-ln), mp+mn, lp+ln
	s.ml = 0.5 * (v[5] + v[6] - 2*s.value - s.mm - s.ll)
	return s
}

// newton returns the step to the top of the quadratic surface, in strides, and whether there is a top.
func (s *slopes) newton() (m, l float64, curved bool) {
	det := s.mm*s.ll - s.ml*s.ml
	if !(s.mm < 0 && det > 0) {
		return math.Copysign(2, s.m), math.Copysign(2, s.l), false
	}
	return (s.ml*s.l - s.ll*s.m) / det, (s.ml*s.m - s.mm*s.l) / det, true
}

// summit climbs from a place by Newton's method on finite differences.
func (f *density) summit(mu, lambda float64) summit {
	var p batch
	top := summit{mu: mu, lambda: lambda}
	dl := summitStride
	for range summitSteps {
		sigma := math.Exp(top.lambda)
		dm := dl * sigma
		d := f.slopes(&p, top.mu, top.lambda, dm, dl)
		m, l, curved := d.newton()
		if curved {
			det := d.mm*d.ll - d.ml*d.ml
			top.vmm, top.vml, top.vll = -d.ll/det*dm*dm, d.ml/det*dm*dl, -d.mm/det*dl*dl
		}
		if longest := max(math.Abs(m), math.Abs(l)) * dl; longest > summitLongest {
			m, l = m/longest, l/longest
		}
		rises := false
		for range summitHalvings {
			if rises = f.values(&p, [2]float64{top.mu + m*dm, top.lambda + l*dl})[0] >= d.value; rises {
				top.mu, top.lambda = top.mu+m*dm, top.lambda+l*dl
				break
			}
			m, l = 0.5*m, 0.5*l
		}
		if !rises || curved && -(m*m*d.mm+l*l*d.ll) < summitSettled*summitSettled {
			break
		}
		if curved {
			dl = min(0.5, 0.3*math.Sqrt(min(top.vll, top.vmm/(sigma*sigma))))
		}
	}
	return top
}

const (
	// boxRows places in each direction are looked at first; then the stride is halved boxRefinements times.
	boxRows        = 9
	boxRefinements = 14
)

// boxSummit looks for the summit inside a box, where it may lie on an edge. The widths are then those of the box, or of the density
// where it is curved.
func (f *density) boxSummit() summit {
	b := &f.prior.box
	lower, upper := math.Log(b.sigmaLower), math.Log(b.sigmaUpper)
	dm, dl := (b.muUpper-b.muLower)/boxRows, (upper-lower)/boxRows
	var p batch
	best, top := math.Inf(-1), summit{mu: b.muLower + 0.5*dm, lambda: lower + 0.5*dl}
	try := func(mu, lambda float64) bool {
		mu, lambda = min(max(mu, b.muLower), b.muUpper), min(max(lambda, lower), upper)
		v := f.values(&p, [2]float64{mu, lambda})[0]
		if v > best {
			best, top.mu, top.lambda = v, mu, lambda
			return true
		}
		return false
	}
	for i := range boxRows {
		for j := range boxRows {
			try(b.muLower+(float64(i)+0.5)*dm, lower+(float64(j)+0.5)*dl)
		}
	}
	for range boxRefinements {
		for try(top.mu+dm, top.lambda) || try(top.mu-dm, top.lambda) || try(top.mu, top.lambda+dl) || try(top.mu, top.lambda-dl) {
		}
		dm, dl = 0.5*dm, 0.5*dl
	}
	return f.boxWidths(&p, top)
}

// boxWidths fills the covariance at a summit inside a box.
func (f *density) boxWidths(p *batch, top summit) summit {
	b := &f.prior.box
	m, l := 0.3*(b.muUpper-b.muLower), 0.3*math.Log(b.sigmaUpper/b.sigmaLower)
	dl := min(summitStride, 0.1*l)
	dm := min(dl*math.Exp(top.lambda), 0.1*m)
	d := f.slopes(p, top.mu, top.lambda, dm, dl)
	if det := d.mm*d.ll - d.ml*d.ml; d.mm < 0 && det > 0 {
		top.vmm, top.vml, top.vll = -d.ll/det*dm*dm, d.ml/det*dm*dl, -d.mm/det*dl*dl
		if top.vmm < m*m && top.vll < l*l {
			return top
		}
	}
	top.vmm, top.vml, top.vll = m*m, 0, l*l
	if d.mm < 0 {
		top.vmm = min(top.vmm, -dm*dm/d.mm)
	}
	if d.ll < 0 {
		top.vll = min(top.vll, -dl*dl/d.ll)
	}
	return top
}
