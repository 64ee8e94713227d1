package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// effective is the layout of readings that all have a value and would say as much as the censored ones do. At the restricted
// maximum each zone's likelihood of its own mean is replaced by the normal one that leaves its effect with the same mean and
// variance; that is a number of readings n and a mean. A zone counts as one, or as n where n < 1. The degrees of freedom in
// all are half the information about a common factor of both sigmas, and the squares within are those that give the same
// sigma_w. When nothing is censored that is the layout itself.
//
// The limits that follow are approximate; TestCensoredCoverage says how close they come to what they promise.
func (f *censoredFit) effective(m *marginal) (layout, []own) {
	e := &f.restricted
	l := layout{origin: e.Mu}
	zones := make([]own, len(m.zones))
	counted, shared := 0.0, 0.0
	for i := range m.zones {
		zones[i] = m.zones[i].effective(e, &m.effects[i])
		counted += zones[i].count
		shared += zones[i].count * m.effects[i].variance * m.effects[i].variance
	}
	readings, kept := 0.0, 0.0
	for i := range zones {
		readings += float64(m.zones[i].count())
		kept += zones[i].n
	}
	variance := e.Within * e.Within
	theta := e.Between * e.Between / variance
	l.between = counted - 1
	l.classes = classify(zones)
	l.align(zones, point{theta: theta, variance: variance}, 1-kept/readings)
	groups := float64(len(zones))
	least := leastShare * 0.5 * f.information * (readings - groups) / (readings - 1)
	l.within = max(0.5*f.information-shared*l.between/counted, least)
	l.squares = max(l.total()*variance-l.at(theta).squares, leastShare*l.within*variance)
	return l, zones
}

// align moves the means of the zones so that the layout has its mean at the estimate and, unless sigma_b is 0, there the squares
// that a chi-square of its degrees of freedom has on average. Normal likelihoods in place of censored ones miss both by a
// little, which would show with many zones. Without censoring nothing is moved; the squares are moved by degrees, wholly when a
// tenth of the readings is lost.
func (l *layout) align(zones []own, at point, lost float64) {
	s := l.at(at.theta)
	stretch := 1.0
	if at.theta > 0 && s.squares > 0 {
		stretch = math.Pow(l.between*at.variance/s.squares, 0.5*math.Max(0, math.Min(1, lost/lostWholly)))
	}
	for i := range zones {
		zones[i].mean = (zones[i].mean - s.mean) * stretch
	}
	l.classes = classify(zones)
}

// lostWholly is the share of readings lost to censoring from which the squares are moved wholly.
const lostWholly = 0.1

// effective replaces a zone's likelihood of its own mean by a normal one. With sigma_b
// near 0 its slope and bend at mu do that.
func (z *zone) effective(e *Estimates, f *effect) own {
	variance := e.Within * e.Within
	var o own
	theta := e.Between * e.Between / variance
	if theta*float64(z.count()) < smallRatio {
		t := z.at(e.Mu, e.Within)
		o = own{n: -t.mm * variance, mean: -t.m / t.mm}
	} else if gain := 1 - f.variance; gain > leastGain {
		o = own{n: gain / (f.variance * theta), mean: e.Between * f.mean / gain}
	}
	o.count = min(1, o.n*(1+theta)/(1+o.n*theta))
	return o
}

// leastShare is the share of what information and squares would be within zones, were all readings alike, that they keep
// when little is known.
const leastShare = 0.5

// smallRatio is the n sigma_b²/sigma_w² under which sigma_b is taken as near 0.
const smallRatio = 1e-4

// leastGain is the share of the variance of a zone's effect that its readings must take away to count at all.
const leastGain = 1e-6

// rough is a place to start from: mean and standard deviation with each censored reading at its bound or in the middle of its
// band. It decides how soon the maximum is found.
func rough(zones []zone) place {
	var n, mean, squares float64
	for i := range zones {
		for _, s := range zones[i].spans {
			y := s.middle()
			n++
			d := y - mean
			mean += d / n
			squares += d * (y - mean)
		}
	}
	sigma := math.Sqrt(0.5 * squares / n)
	if sigma == 0 {
		sigma = 1
	}
	return place{mean, sigma, sigma}
}

func (s span) middle() float64 {
	switch {
	case math.IsInf(s.lower, -1):
		return s.upper
	case math.IsInf(s.upper, 1):
		return s.lower
	}
	return s.lower + 0.5*(s.upper-s.lower)
}

// ownMean is the mean of ln reading of a zone by itself: that of its readings or, with censored ones, the m of greatest
// likelihood at sigma_w = sigma. NaN when every reading is below, or every one above, so that there is none.
func (z *zone) ownMean(sigma float64) float64 {
	if len(z.censored) == 0 {
		return z.mean
	}
	if floor, ceiling := z.sides(); !floor || !ceiling {
		return math.NaN()
	}
	guess := 0.0
	for _, s := range z.spans {
		guess += s.middle() / float64(z.count())
	}
	m, err := numeric.RootNear(func(m float64) (float64, float64) {
		t := z.at(m, sigma)
		return t.m, t.mm
	}, guess, sigma, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return m
}

// sides says whether some reading keeps the zone's mean from below, and some from above.
func (z *zone) sides() (floor, ceiling bool) {
	for _, s := range z.spans {
		floor = floor || !math.IsInf(s.lower, -1)
		ceiling = ceiling || !math.IsInf(s.upper, 1)
	}
	return floor, ceiling
}
