package planning

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// pooled is the predictive law of n0 readings joined by k more, under the reference prior 1/sigma.
//
// With a = s0 sqrt(n0-1) the root of the sum of squares so far, the joint law of the mean and the standard deviation of all
// n = n0+k readings is that of an angle psi and an independent ratio b,
//
//	mean = mean0 + a sqrt(k/(n n0)) tan(psi),      psi with density ~ cos(psi)^(n0-2),
//	sd   = a sec(psi) sqrt((1+b)/(n-1)),           b = chi²_{k-1}/chi²_{n0},
//
// because mean1 - mean0 over its standard error, over the root of chi²_{n0-1}, is tan(psi): a Student t with n0-1 degrees
// of freedom. So a chance is an integral over psi of a beta probability.
//
// Source: the predictive distribution of a normal sample, Aitchison and Dunsmore (1975), Statistical Prediction Analysis
// (from memory); derived anew for this form.
type pooled struct {
	n0, k, n float64
	// limit is (ln L - mean0)/a.
	limit float64
	// shift is the mean of all per tan(psi), and fresh that of the new ones, in units of a.
	shift, fresh float64
	log          float64 // ln of the constant of the density of psi
	logBeta      float64 // ln of that of b
}

func newPooled(s SoFar, logLimit float64, k int) *pooled {
	p := &pooled{n0: float64(s.n), k: float64(k), n: float64(s.n + k)}
	a := s.sd * math.Sqrt(p.n0-1)
	p.limit = (logLimit - s.mean) / a
	p.shift = math.Sqrt(p.k / (p.n * p.n0))
	p.fresh = math.Sqrt(p.n / (p.n0 * p.k))
	p.log = logGammaRatio(p.n0 + 1)
	if k > 1 {
		x, _ := math.Lgamma((p.k - 1) / 2)
		y, _ := math.Lgamma(p.n0 / 2)
		z, _ := math.Lgamma((p.n0 + p.k - 1) / 2)
		p.logBeta = z - x - y
	}
	return p
}

// density is that of psi, from its cosine.
func (p *pooled) density(cos float64) float64 { return math.Exp(p.log + (p.n0-2)*math.Log(cos)) }

// below is the probability of b <= x.
func (p *pooled) below(x float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case p.k == 1 || math.IsInf(x, 1):
		return 1
	}
	// P(F <= f) as the upper tail of 1/F keeps a small probability whole.
	return numeric.FSurvival(p.n0, p.k-1, (p.k-1)/(p.n0*x))
}

// band is a range of b at given psi.
type band struct{ lo, hi float64 }

// spread turns a standard deviation of all readings, in units of a, into b.
func (p *pooled) spread(sd, cos float64) float64 {
	x := sd * sd * (p.n - 1)
	return math.FMA(x*cos, cos, -1)
}

// question is a chance asked of the predictive law: the band of b at psi, and what it is worth.
type question struct {
	band  func(sin, cos float64) band
	worth func(b band, sin, cos float64) float64
}

// chance integrates a question over psi.
func (p *pooled) chance(q question) float64 {
	edges := p.edges(q.band)
	sum := 0.0
	for i := 1; i < len(edges); i++ {
		sum += p.piece(q, edges[i-1], edges[i])
	}
	return clamp(sum)
}

// piece integrates between two edges. Where the band opens or closes the integrand starts like a root; psi is therefore
// taken in the sine of another angle, which makes it smooth.
func (p *pooled) piece(q question, lo, hi float64) float64 {
	mid, half := 0.5*(lo+hi), 0.5*(hi-lo)
	if sin, cos := math.Sincos(mid); !open(q.band(sin, cos)) {
		return 0
	}
	f := func(phi float64) float64 {
		s, c := math.Sincos(phi)
		sin, cos := math.Sincos(mid + half*s)
		return p.density(cos) * half * c * q.worth(q.band(sin, cos), sin, cos)
	}
	const widths, most = 2.5, 8 // of the density on one panel
	panels := max(1, min(most, math.Ceil((hi-lo)*math.Sqrt(p.n0+p.k)/widths)))
	sum := 0.0
	for i := range int(panels) {
		sum += numeric.GaussLegendre(f, math.Pi*(float64(i)/panels-0.5), math.Pi*(float64(i+1)/panels-0.5))
	}
	return sum
}

// open says whether b can lie in the band at all.
func open(b band) bool { return b.hi > 0 && b.hi > b.lo }

// state tells the pieces between edges apart.
type state struct{ open, bottom bool }

func stateOf(b band) state { return state{open(b), open(b) && b.lo > 0} }

// edges are the ends of the pieces of psi on which a band opens, closes or leaves b = 0.
func (p *pooled) edges(f func(sin, cos float64) band) []float64 {
	const cells = 65
	reach := math.Pi / 2
	if p.n0 > 2 {
		const drop = 39 // of the density, in powers of e
		reach = math.Acos(math.Exp(-drop / (p.n0 - 2)))
	}
	s := newScan(-reach, func(psi float64) state {
		sin, cos := math.Sincos(psi)
		return stateOf(f(sin, cos))
	})
	// The open range can be narrower than a cell; it lies where ln L is farthest above the mean, seen from the spread: at the
	// top of limit cos(psi) - shift sin(psi).
	top := -math.Atan2(p.shift, p.limit)
	for i := 1; i <= cells; i++ {
		psi := reach * (2*float64(i)/cells - 1)
		if top > s.from && top < psi {
			s.to(top)
		}
		s.to(psi)
	}
	return append(s.edges, reach)
}

// scan walks along psi and notes where the state changes.
type scan struct {
	at    func(psi float64) state
	from  float64
	was   state
	edges []float64
}

func newScan(from float64, at func(psi float64) state) *scan {
	return &scan{at: at, from: from, was: at(from), edges: []float64{from}}
}

// to goes on to next. On the way there may be two edges, such as that of a band which leaves b = 0 and then closes.
func (s *scan) to(next float64) {
	const most, steps = 3, 46
	is := s.at(next)
	for changes := 0; is != s.was && changes < most; changes++ {
		lo, hi := s.from, next
		for range steps {
			if mid := 0.5 * (lo + hi); s.at(mid) == s.was {
				lo = mid
			} else {
				hi = mid
			}
		}
		s.edges = append(s.edges, 0.5*(lo+hi))
		s.from, s.was = hi, s.at(hi)
	}
	s.from, s.was = next, is
}

// limitBelow is the chance that mean + factor·sd of all readings comes out below the limit, factor > 0.
func (p *pooled) limitBelow(factor float64) float64 { return p.chance(p.limitQuestion(factor)) }

func (p *pooled) limitQuestion(factor float64) question {
	return question{
		band:  func(sin, cos float64) band { return band{hi: p.room(factor, sin, cos)} },
		worth: func(b band, _, _ float64) float64 { return p.below(b.hi) },
	}
}

// room is the b up to which mean + factor·sd stays below the limit.
func (p *pooled) room(factor, sin, cos float64) float64 {
	c := p.limit*cos - p.shift*sin // (ln L - mean) cos(psi)/a
	if !(c > 0) {
		return -1
	}
	return p.spread(c/(factor*cos), cos)
}
