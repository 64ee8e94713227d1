package planning

import (
	"math"
	"sync"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
)

// Planner answers questions of planning. It remembers what depends on the number of samples only, at most some 3 MB; what it
// hands out is what would be computed anew, bit for bit. Its zero value is ready, and it is safe for concurrent use.
type Planner struct {
	sizes sync.Map // int to *size

	mu        sync.Mutex
	laws      []*deviateLaw // of 2, 3, ... observations
	chebyshev *chebyshev
}

// The rules look at the 95th percentile and its limits at 95 % and, in EN 689, 70 % confidence.
const (
	fraction     = 0.95
	confidence   = 0.95
	confidence70 = 0.70
)

// score95 is the standard normal score of the 95th percentile.
func score95() float64 { return numeric.NormalQuantile(fraction) }

// size is what is known of one number of samples.
type size struct {
	n, root float64

	limits sync.Once
	// upper and lower are the tolerance factors of the 95 % limits of the 95th percentile.
	upper, lower float64

	threshold sync.Once
	// upper70 is the tolerance factor of EN 689, UT.
	upper70 float64

	margins margins
}

// of returns the entry of n >= 2 samples.
func (p *Planner) of(n int) *size {
	if s, ok := p.sizes.Load(n); ok {
		return s.(*size) //nolint:forcetypeassert // Only this function stores, and only sizes.
	}
	s, _ := p.sizes.LoadOrStore(n, &size{n: float64(n), root: math.Sqrt(float64(n))})
	return s.(*size) //nolint:forcetypeassert // As above.
}

// factors returns s with the factors of the 95 % limits.
func (s *size) factors() *size {
	s.limits.Do(func() {
		s.upper = numeric.ToleranceFactor(int(s.n), fraction, confidence)
		s.lower = numeric.ToleranceFactor(int(s.n), fraction, 1-confidence)
	})
	return s
}

// ut returns the factor of EN 689.
func (s *size) ut() float64 {
	s.threshold.Do(func() { s.upper70 = numeric.ToleranceFactor(int(s.n), fraction, confidence70) })
	return s.upper70
}

// law returns the law of the largest studentized deviate of n >= 2 observations.
func (p *Planner) law(n int) *deviateLaw {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.laws == nil {
		p.chebyshev = newChebyshev()
		p.laws = append(p.laws, deviateOfTwo())
	}
	for len(p.laws) < n-1 {
		p.laws = append(p.laws, p.laws[len(p.laws)-1].next(p.chebyshev))
	}
	return p.laws[n-2]
}

// transform returns the nodes shared by all series.
func (p *Planner) transform() *chebyshev {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.chebyshev == nil {
		p.chebyshev = newChebyshev()
	}
	return p.chebyshev
}

// Chances returns the exact chance of each outcome of a rule for n samples, 1 to MaxSamples, of the assumed exposure. A rule
// that is not Supported is a fault of kind Unsupported.
func (p *Planner) Chances(rule decision.Rule, a Assumption, n int) (Chances, error) {
	if n < 1 || n > MaxSamples {
		return Chances{}, fault.Invalid("samples", "got %d, want 1 to %d", n, MaxSamples)
	}
	switch rule {
	case decision.EN689:
		return p.en689(a, n), nil
	case decision.UpperLimit95, decision.Posterior:
		return p.percentile(a, n), nil
	case decision.MeanUpperLimit:
		return p.mean(a, n)
	default:
		return Chances{}, unplanned()
	}
}

func unplanned() error {
	return fault.Unimplemented("this rule has no number of samples to plan; plan with one of the rules that judge a group by " +
		"its 95th percentile or its arithmetic mean")
}
