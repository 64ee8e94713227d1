package variance

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Partition splits the spread of readings of one unit between and within the zones (or subjects) that by names. The order of
// the readings and the names never change a bit of the answer.
//
// The error is a fault: InvalidArgument when an option or a reading is wrong or a name is empty, Undetermined when the readings
// cannot tell the two variances (one zone, no zone with two readings that differ, no reading with a value).
func Partition(readings []reading.Reading, by func(reading.Reading) string, o Options) (Result, error) {
	o = o.withDefaults()
	if err := o.check(); err != nil {
		return Result{}, err
	}
	zones, err := gather(readings, by, o.What)
	if err != nil {
		return Result{}, err
	}
	if err := determined(zones, o.What); err != nil {
		return Result{}, err
	}
	m, err := fitZones(zones)
	if err != nil {
		return Result{}, err
	}
	counts := reading.Count(readings)
	r := Result{Readings: counts.Readings, Censored: counts.Censored(), Restricted: m.restricted, Likelihood: m.likelihood}
	if !m.contrasts {
		nothing := math.NaN()
		r.Restricted = Estimates{nothing, nothing, nothing, nothing, nothing, nothing, nothing}
	}
	if err := m.answer(&r, o); err != nil {
		return Result{}, fault.Wrap(err, "the limits of the variances could not be computed")
	}
	return r, nil
}

// model is a fitted group.
type model struct {
	zones                  []zone
	restricted, likelihood Estimates
	// layout and own are those of the readings or, when some are censored, of readings with values that would say as much.
	layout layout
	own    []own
	// effects are what the readings say of each zone's mean, less mu.
	effects []float64
	// exact says that every reading has a value, contrasts that the restricted likelihood has a maximum; where it has none,
	// restricted is the likelihood's.
	exact, contrasts bool
}

// fitZones fits the likelihoods.
func fitZones(zones []zone) (*model, error) {
	m := &model{zones: zones, exact: true, contrasts: true}
	for i := range zones {
		m.exact = m.exact && len(zones[i].censored) == 0
	}
	if m.exact {
		return m, m.fitExact()
	}
	return m, m.fitCensored()
}

func (m *model) fitExact() error {
	m.layout, m.own = newLayout(m.zones)
	var err error
	if m.restricted, err = fitUncensored(&m.layout, true); err != nil {
		return fault.Wrap(err, "the restricted likelihood was not maximized")
	}
	if m.likelihood, err = fitUncensored(&m.layout, false); err != nil {
		return fault.Wrap(err, "the likelihood was not maximized")
	}
	theta := m.restricted.Between / m.restricted.Within
	theta *= theta
	center := m.restricted.Mu - m.layout.origin
	for _, z := range m.own {
		m.effects = append(m.effects, z.n*theta/(1+z.n*theta)*(z.mean-center))
	}
	return nil
}

func (m *model) fitCensored() error {
	c := newMarginal(m.zones)
	f, err := c.fit(rough(m.zones))
	if err != nil {
		return err
	}
	m.restricted, m.likelihood, m.contrasts = f.restricted, f.likelihood, f.contrasts
	m.layout, m.own = f.effective(c)
	for _, e := range c.effects {
		m.effects = append(m.effects, m.restricted.Between*e.mean)
	}
	return nil
}

// answer fills the result.
func (m *model) answer(r *Result, o Options) error {
	r.Test = m.layout.test()
	r.Test.Exact = m.exact
	if m.exact {
		a := m.layout.anova()
		r.Anova = &a
	}
	if err := m.limits(r, o); err != nil {
		return err
	}
	if err := m.describe(r, o); err != nil {
		return err
	}
	r.Pooling = r.verdict(o)
	if err := m.split(r, o); err != nil {
		return err
	}
	r.Notes = r.notes(o)
	return nil
}

// limits fills the estimates with their limits. Those that rest on a layout that says too little are NaN.
func (m *model) limits(r *Result, o Options) error {
	nothing := math.NaN()
	e := m.restricted
	total := e.Between*e.Between + e.Within*e.Within
	r.Between, r.Within = Bounds{e.Between, nothing, nothing}, Bounds{e.Within, nothing, nothing}
	r.Share = Bounds{e.Between * e.Between / total, nothing, nothing}
	q := question{score: numeric.NormalQuantile(o.Percentile)}
	if o.LogLimit != nil {
		q.limit = *o.LogLimit - m.layout.origin
		r.Chance = &Bounds{q.estimate(e.Mu-m.layout.origin, e.Between, e.Within), nothing, nothing}
	}
	if err := m.layout.fill(r, q, o.Confidence); err != nil {
		return err
	}
	r.Ratio = Bounds{ratio(r.Between.Estimate), ratio(r.Between.Lower), ratio(r.Between.Upper)}
	return nil
}

// fill adds the limits, where the layout says enough.
func (l *layout) fill(r *Result, q question, confidence float64) error {
	if !l.telling() {
		return nil
	}
	p, err := newPivotal(l, fineStep)
	if err != nil {
		return err
	}
	r.Within.Lower, r.Within.Upper = l.withinLimits(confidence)
	if r.Between.Lower, r.Between.Upper, err = p.betweenLimits(confidence); err != nil {
		return err
	}
	if r.Share.Lower, r.Share.Upper, err = p.shareLimits(confidence); err != nil || r.Chance == nil {
		return err
	}
	r.Chance.Lower, r.Chance.Upper, err = p.chanceLimits(q, confidence)
	return err
}

// telling says whether the layout is enough for limits: what censored readings leave of it may be less than one zone or one
// degree of freedom.
func (l *layout) telling() bool { return l.between >= leastBetween && l.within >= leastWithin }

// leastBetween and leastWithin are the degrees of freedom under which no limits are given.
const leastBetween, leastWithin = 0.5, 1

// ratio is that of the 97.5th to the 2.5th percentile of the zone means.
func ratio(between float64) float64 {
	v := math.Exp(2 * numeric.NormalQuantile(0.975) * between)
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// describe fills the zones.
func (m *model) describe(r *Result, o Options) error {
	score := numeric.NormalQuantile(o.Percentile)
	k := float64(len(m.zones))
	r.Zones = make([]Zone, len(m.zones))
	for i := range m.zones {
		z := &m.zones[i]
		mean := m.restricted.Mu + m.effects[i]
		r.Zones[i] = Zone{
			Name: z.name, Readings: z.count(), Censored: z.count() - z.detected,
			GeometricMean: finite(math.Exp(z.ownMean(m.restricted.Within))),
			Shrunken:      finite(math.Exp(mean)),
			Percentile:    finite(math.Exp(mean + score*m.restricted.Within)),
			Deviance:      math.NaN(), PValue: math.NaN(),
		}
		rest := m.layout.without(m.own[i])
		if m.own[i].n == 0 || !rest.telling() {
			continue
		}
		s, err := rest.stand(m.own[i])
		if err != nil {
			return err
		}
		r.Zones[i].Deviance, r.Zones[i].PValue = s.score, s.pValue
		r.Zones[i].Outside = s.pValue*k < 1-o.Confidence
	}
	// Equal ones stay in the order of their readings, so that names decide only between zones with the same readings.
	slices.SortStableFunc(r.Zones, func(a, b Zone) int { return cmp.Compare(b.Shrunken, a.Shrunken) })
	return nil
}

// finite returns v, or NaN when a float64 could not hold it.
func finite(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}
