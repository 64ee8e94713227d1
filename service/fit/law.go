package fit

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/numeric/logmean"
)

// PercentileLaw is the posterior of mu + z sigma. The error, here and below, is a fault when the readings do not determine it.
func (f *Fit) PercentileLaw(z float64) (posterior.Law, error) {
	return f.law(posterior.PercentileKind, z)
}

// ScoreLaw is the posterior of (q - mu)/sigma, the normal score whose upper tail is the exceedance of the limit e^q.
func (f *Fit) ScoreLaw(q float64) (posterior.Law, error) { return f.law(posterior.ScoreKind, q) }

// LogMeanLaw is the posterior of mu + sigma²/2.
func (f *Fit) LogMeanLaw() (posterior.Law, error) { return f.law(posterior.MeanKind, 0) }

// LogSpreadLaw is the posterior of ln sigma.
func (f *Fit) LogSpreadLaw() (posterior.Law, error) { return f.law(posterior.SpreadKind, 0) }

func (f *Fit) law(k posterior.Kind, value float64) (posterior.Law, error) {
	p := f.Posterior
	if m, ok := p.(*memory); ok {
		p = m.Posterior
	}
	switch p := p.(type) {
	case *exact:
		return exactLaw{p, k, value}, nil
	case *posterior.Quadrature:
		return p.Law(k, value)
	}
	return nil, fault.Unsettled("there is no posterior: %s", f.missing())
}

// missing says why there is no posterior.
func (f *Fit) missing() string {
	switch {
	case f.Why != "":
		return f.Why
	case f.Status == NoSpread:
		return "all readings are equal"
	default:
		return "fewer than two readings tell nothing of the spread"
	}
}

// exactLaw is the posterior of a quantity when every reading has a value.
type exactLaw struct {
	*exact

	kind  posterior.Kind
	value float64
}

// At is an expectation over S = s/sigma, given which mu is normal about the mean of the logs with standard deviation
// sigma/sqrt(n).
func (l exactLaw) At(v float64) (below, density float64) {
	switch l.kind {
	case posterior.SpreadKind:
		return l.spreadAt(v)
	case posterior.MeanKind:
		return logmean.PivotalCDF(int(l.n), l.mean, l.sd, v)
	case posterior.ScoreKind:
		_, below = l.rule.Tails(l.standard(l.value), v*l.root)
		t := l.standard(l.value)
		density = l.density(func(s float64) (float64, float64) { return t*s - v*l.root, l.root })
		return below, density
	default:
		below, _ = l.rule.Tails(l.standard(v), l.value*l.root)
		t := l.standard(v)
		density = l.density(func(s float64) (float64, float64) { return t*s - l.value*l.root, l.root * s / l.sd })
		return below, density
	}
}

// density is E a' phi(a(S)).
func (l exactLaw) density(argument func(s float64) (a, slope float64)) (density float64) {
	for i := range l.rule.Len() {
		s, w := l.rule.Node(i)
		a, slope := argument(s)
		density += w * slope * numeric.NormalDensity(a)
	}
	return density
}

// spreadAt is the law of ln sigma: (n-1) s²/sigma² is chi-square with n-1 degrees of freedom.
func (l exactLaw) spreadAt(v float64) (below, density float64) {
	nu := l.n - 1
	x := nu * math.Exp(2*(math.Log(l.sd)-v))
	half, _ := math.Lgamma(nu / 2)
	return numeric.ChiSquareSurvival(nu, x), 2 * math.Exp(nu/2*math.Log(x/2)-x/2-half)
}

// Quantile is that of Law.
func (l exactLaw) Quantile(p float64) (float64, error) {
	switch l.kind {
	case posterior.SpreadKind:
		sigma, err := l.Spread(p)
		return math.Log(sigma), err
	case posterior.MeanKind:
		return l.LogMean(p)
	case posterior.ScoreKind:
		return l.Score(l.value, 1-p)
	default:
		return l.exact.Quantile(l.value, p)
	}
}
