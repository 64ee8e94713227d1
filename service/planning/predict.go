package planning

import (
	"fmt"
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// Pooled returns the predictive chance of each outcome when k >= 1 more uncensored readings join those so far and the rule
// judges them all together; logLimit is the natural log of the limit. The sampling law of the new readings is integrated
// over the posterior of mu and sigma under the reference prior. The error is below 1e-8 (measured), besides what Equivalent
// puts in.
func (p *Planner) Pooled(rule decision.Rule, s SoFar, logLimit float64, k int) (Chances, error) {
	if k < 1 || s.n+k > MaxSamples || s.readings+k > MaxSamples {
		return Chances{}, fault.Invalid("moreSamples", "got %d, want at least 1 and at most %d together with the readings so far", k, MaxSamples)
	}
	law := newPooled(s, logLimit, k)
	switch rule {
	case decision.EN689:
		return p.pooledEN689(law, s, logLimit, k), nil
	case decision.UpperLimit95, decision.Posterior:
		f := p.of(s.n + k).factors()
		return settle(law.limitBelow(f.upper), 1-law.limitBelow(f.lower)), nil
	case decision.MeanUpperLimit:
		return p.pooledMean(law, s, k)
	default:
		return Chances{}, unplanned()
	}
}

// pooledEN689 counts the readings so far in: one of them above the limit has settled it.
func (p *Planner) pooledEN689(law *pooled, s SoFar, logLimit float64, k int) Chances {
	if s.maximum > logLimit {
		return Chances{NotCompliant: 1}
	}
	var deviates *deviateLaw
	if k > 1 {
		deviates = p.law(k)
	}
	n := s.readings + k
	if n >= statistic {
		compliant := law.quiet(deviates, p.of(s.n+k).ut())
		return settle(compliant, 1-compliant)
	}
	low := 0.0
	if n >= preliminary {
		if bound := logLimit + math.Log(preliminaryFraction(n)); s.maximum < bound {
			low = newPooled(s, bound, k).quiet(deviates, 0)
		}
	}
	return settle(low, 1-law.quiet(deviates, 0))
}

func (p *Planner) pooledMean(law *pooled, s SoFar, k int) (Chances, error) {
	n, f := s.n+k, p.transform()
	m := &p.of(n).margins
	compliant := law.meanBelow(func(sd float64) float64 { return m.upper.at(sd, n, confidence, f) }, s.sd)
	lower := law.meanBelow(func(sd float64) float64 { return m.lower.at(sd, n, 1-confidence, f) }, s.sd)
	if math.IsNaN(compliant + lower) {
		return Chances{}, errMargin()
	}
	return settle(compliant, 1-lower), nil
}

// Prospect is what k more readings promise.
type Prospect struct {
	// Rows have the number of further samples, from 1 on.
	Rows []Row
	// Needed counts further samples.
	Needed Needed
	// Eventually is what the chances tend to with ever more samples.
	Eventually Chances
	// Text says in a plain sentence how many more samples reach the aim, or that more will hardly do.
	Text string
	// Approximate says that the readings so far were censored and stand replaced by the uncensored ones of Equivalent.
	Approximate bool
}

// Prospect looks 1 to most samples ahead, most at least 1, for the smallest number that reaches the aim with the wanted
// chance, 0 to 1.
func (p *Planner) Prospect(rule decision.Rule, s SoFar, logLimit float64, most int, want Want) (Prospect, error) {
	r := Prospect{Approximate: s.Approximate, Rows: make([]Row, 0, max(0, most))}
	if err := (Range{1, most}).check(); err != nil {
		return Prospect{}, err
	}
	for k := 1; k <= most; k++ {
		c, err := p.Pooled(rule, s, logLimit, k)
		if err != nil {
			return Prospect{}, err
		}
		r.Rows = append(r.Rows, Row{k, c})
	}
	var err error
	if r.Eventually, err = s.eventually(rule, logLimit); err != nil {
		return Prospect{}, err
	}
	r.Needed = Smallest(r.Rows, want.Aim, want.Chance)
	r.Text = r.sentence(want, most)
	return r, nil
}

// Want is an aim and the chance, 0 to 1, with which it is to be reached.
type Want struct {
	Aim    Aim
	Chance float64
}

// sentence says what the rows come to.
func (r *Prospect) sentence(w Want, most int) string {
	n := r.Needed
	if n.Samples > 0 {
		return fmt.Sprintf("With %d more %s %s has a chance of %s, at least the %.4g %% wanted.", n.Samples, samples(n.Samples),
			w.Aim, inPercent(w.Aim.of(r.Rows[n.Samples-1].Chances)), 100*w.Chance)
	}
	return fmt.Sprintf("More samples will hardly reach it: of 1 to %d more, %d give %s the highest chance, %s, below the %.4g %% wanted; "+
		"with ever more samples it would tend to %s.",
		most, n.BestSamples, w.Aim, inPercent(n.Best), 100*w.Chance, inPercent(w.Aim.of(r.Eventually)))
}

// inPercent writes a computed chance, 0 to 1, to three figures; one that is not quite 0 or 1 is not written as if it were.
func inPercent(chance float64) string {
	switch {
	case chance > 0 && chance < 1e-4:
		return "<0.01 %"
	case chance > 0.9995 && chance < 1:
		return ">99.9 %"
	case chance == 0 || chance == 1:
		return fmt.Sprintf("%.0f %%", 100*chance)
	}
	return reading.Figures(100*chance, 3) + " %"
}

func samples(n int) string {
	if n == 1 {
		return "sample"
	}
	return "samples"
}

// String names the aim in a sentence.
func (a Aim) String() string {
	switch a {
	case Comply:
		return "a compliant outcome"
	case Refuse:
		return "a non-compliant outcome"
	default:
		return "a settled outcome"
	}
}

// eventually is the outcome once mu and sigma are known, weighed by what the readings say of them. Under EN 689 a result
// above the limit will come sooner or later.
func (s SoFar) eventually(rule decision.Rule, logLimit float64) (Chances, error) {
	if rule == decision.EN689 {
		return Chances{NotCompliant: 1}, nil
	}
	f := fit.FromMoments(s.n, s.mean, s.sd)
	if rule != decision.MeanUpperLimit {
		return Chances{Compliant: f.Posterior.Below(score95(), logLimit), NotCompliant: f.Posterior.Above(score95(), logLimit)}, nil
	}
	// The probability at which the limit is the quantile of ln arithmetic mean.
	const least, steps = 1e-6, 60
	lo, hi := least, 1-least
	for range steps {
		mid := 0.5 * (lo + hi)
		q, err := f.Posterior.LogMean(mid)
		if err != nil {
			return Chances{}, err
		}
		if q < logLimit {
			lo = mid
		} else {
			hi = mid
		}
	}
	return Chances{Compliant: lo, NotCompliant: 1 - lo}, nil
}
