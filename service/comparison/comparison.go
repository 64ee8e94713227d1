// Package comparison sets campaigns of one group side by side: how much the later one is lower, with what limits, and what may
// be said of it. Campaigns are independent given their parameters, and every ratio is the later over the earlier.
package comparison

import (
	"math"
	"sort"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Campaign is the readings of one visit or season.
type Campaign struct {
	Name     string
	Readings []reading.Reading
	// Fit is that of Readings under the reference prior.
	Fit *fit.Fit
}

// Options says what to compare. The zero value of Percentile and Confidence stands for the default.
type Options struct {
	// Percentile is the fraction of the percentile to compare, 0.5 to 0.999. Default 0.95.
	Percentile float64
	// Confidence is that of every limit, one-sided, 0.5 to 0.9999. Default 0.95.
	Confidence float64
	// Reduction is a fraction by which the percentile is asked to have fallen, above 0 and below 1; 0 when none is asked for.
	Reduction float64
	// LogLimit is the natural log of the exposure limit in the unit of the readings; nil when there is none.
	LogLimit *float64
}

// Result is the comparison of two or more campaigns. NaN stands for what the readings do not determine.
type Result struct {
	// Pairs are all pairs, in the order of the campaigns: 1-2, 1-3, ..., 2-3, ...
	Pairs []Pair
	// Trend is nil with two campaigns, or when the readings do not determine it.
	Trend *Trend
	// Notes are what the reader must know, in a fixed order.
	Notes []Note
}

// Pair is one campaign over another.
type Pair struct {
	From, To string
	// GeometricMean, Percentile and ArithmeticMean are ratios, LogSpread that of the standard deviations of ln reading.
	GeometricMean, LogSpread, Percentile, ArithmeticMean limit.Bounds
	// Exceedance is the difference of the fractions above the limit, -1 to 1; nil without a limit.
	Exceedance *limit.Bounds
	// Lower is the probability that the later percentile is lower, LowerByReduction that it is lower by at least the fraction
	// asked for.
	Lower, LowerByReduction float64
	// Claim is the largest reduction of the percentile that can be claimed at the confidence, as a fraction: one minus the upper
	// limit of the ratio, and 0 when that is above 1.
	Claim float64
	// Means is the test of equal geometric means: Welch's, or of the likelihood ratio when readings are censored. PAdjusted is
	// its p-value after Holm's correction for the number of pairs.
	Means     Test
	PAdjusted float64
	// Spreads is the test of equal spreads: the F test, or that of the likelihood ratio when readings are censored. Equal is that of
	// Brown and Forsythe, which tolerates readings that are not lognormal; absent when readings are censored.
	Spreads, Equal Test
	// Wilcoxon is the generalized Wilcoxon test of Peto and Peto, LogRank the log-rank test: neither leans on a distribution.
	// Absent when a reading is above a range or between two bounds.
	Wilcoxon, LogRank Test
	// Separate is the ratio of the geometric means when each campaign has a spread of its own, from the two posteriors. It is
	// GeometricMean when nothing is censored.
	Separate limit.Bounds
	// Common is the likelihood with one spread for both campaigns; nil unless readings are censored.
	Common *Common
	// Within is the change within zones; nil with fewer than two zones in common.
	Within *Within
	// Further is about how many more readings under the conditions of the later campaign would settle whether the percentile fell
	// or rose; 0 when that is settled or unknown, or when mostFurther would not do.
	Further int
	// Conclusion is a plain sentence or a few.
	Conclusion string
	// censored says that a reading of either has no value.
	censored bool
}

// Test is a test of no difference. Both numbers are NaN when it is absent.
type Test struct {
	// Name is that of the test in words.
	Name string
	// Statistic is t, F or chi-square; Freedom are its degrees of freedom, the second one that of the denominator of an F.
	Statistic float64
	Freedom   []float64
	// PValue is two-sided, 0 to 1.
	PValue float64
}

// Common is the maximum of the likelihood with one spread.
type Common struct {
	// Coefficient is the log of the ratio of the geometric means, StandardError that of it, and Sigma the common spread.
	Coefficient, StandardError, Sigma float64
}

// Note is something that the reader must know.
type Note struct {
	// Code is a short name for programs, Text a sentence for people.
	Code, Text string
	// Warning says that the numbers should not be relied on without further work.
	Warning bool
}

// Compare compares every pair of two or more campaigns. The error is a fault; a pair of which some numbers are not determined
// is none.
func Compare(campaigns []Campaign, o Options) (Result, error) {
	o = o.withDefaults()
	if len(campaigns) < 2 {
		return Result{}, fault.Invalid("campaigns", "has %d entries; at least 2 campaigns are required", len(campaigns))
	}
	sides := make([]side, len(campaigns))
	for i := range campaigns {
		sides[i] = newSide(&campaigns[i], o)
	}
	var r Result
	for i := range sides {
		for j := i + 1; j < len(sides); j++ {
			r.Pairs = append(r.Pairs, compare(&sides[i], &sides[j], o))
		}
	}
	holm(r.Pairs)
	for i := range r.Pairs {
		r.Pairs[i].Conclusion = conclusion(&r.Pairs[i], o)
	}
	if len(campaigns) > 2 {
		r.Trend = trend(campaigns, o)
	}
	r.Notes = notes(&r, sides)
	return r, nil
}

func (o Options) withDefaults() Options {
	if o.Percentile == 0 {
		o.Percentile = 0.95
	}
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	return o
}

// side is one campaign of a pair, with what every pair asks of it.
type side struct {
	*Campaign

	censored bool
	// percentile and the others are posteriors; nil when there is none.
	percentile, middle, mean, spread, exceedance *law
	// why is the reason for which there is none.
	why string
}

func newSide(c *Campaign, o Options) side {
	s := side{Campaign: c, censored: reading.Count(c.Readings).Censored() > 0}
	keep := func(l posterior.Law, err error) *law {
		if err != nil {
			s.why = err.Error()
			return nil
		}
		return &law{Law: l}
	}
	if s.percentile = keep(c.Fit.PercentileLaw(numeric.NormalQuantile(o.Percentile))); s.percentile == nil {
		return s
	}
	s.mean, s.middle, s.spread = keep(c.Fit.LogMeanLaw()), keep(c.Fit.PercentileLaw(0)), keep(c.Fit.LogSpreadLaw())
	if o.LogLimit != nil {
		if l, err := c.Fit.ScoreLaw(*o.LogLimit); err == nil {
			s.exceedance = &law{Law: tail{l}}
		}
	}
	return s
}

// compare fills one pair.
func compare(a, b *side, o Options) Pair {
	p := Pair{
		From: a.Name, To: b.Name, censored: a.censored || b.censored,
		GeometricMean: unknown(), LogSpread: unknown(), Percentile: unknown(), ArithmeticMean: unknown(), Separate: unknown(),
		Lower: math.NaN(), LowerByReduction: math.NaN(), Claim: math.NaN(),
		Means: absent("no test of the geometric means"), Spreads: absent("no test of the spreads"), PAdjusted: math.NaN(),
		Equal: absent("Brown-Forsythe on ln reading"),
	}
	if p.censored {
		p.likelihood(a.Readings, b.Readings, o)
	} else {
		p.moments(a, b, o)
	}
	p.Wilcoxon, p.LogRank = rankTests(a.Readings, b.Readings)
	p.Within = within(a.Readings, b.Readings, o)
	p.posteriors(a, b, o)
	return p
}

// posteriors fills what the two posteriors give.
func (p *Pair) posteriors(a, b *side, o Options) {
	z := numeric.NormalQuantile(o.Percentile)
	if d := newDifference(a.percentile, b.percentile); d != nil {
		p.Percentile = d.ratio(b.Fit.Mu-a.Fit.Mu+z*(b.Fit.Sigma-a.Fit.Sigma), o.Confidence)
		p.Lower = d.below(0)
		if o.Reduction > 0 {
			p.LowerByReduction = d.below(math.Log1p(-o.Reduction))
		}
		if !math.IsNaN(p.Percentile.Upper) {
			p.Claim = max(0, 1-p.Percentile.Upper)
		}
		p.Further = further(d, a, b, o)
	}
	if d := newDifference(a.mean, b.mean); d != nil {
		p.ArithmeticMean = d.ratio(math.Log(arithmetic(b))-math.Log(arithmetic(a)), o.Confidence)
	}
	if p.censored {
		if d := newDifference(a.spread, b.spread); d != nil {
			p.LogSpread = d.ratio(math.Log(b.Fit.Sigma/a.Fit.Sigma), o.Confidence)
		}
		if d := newDifference(a.middle, b.middle); d != nil {
			p.Separate = d.ratio(b.Fit.Mu-a.Fit.Mu, o.Confidence)
		}
	}
	if o.LogLimit != nil {
		p.Exceedance = exceedance(a, b, o)
	}
}

const (
	// mostFurther bounds the readings that are proposed.
	mostFurther = 500
	// settlingChance is that of settling the question with as many readings as are proposed.
	settlingChance = 0.8
)

// further is the least number of readings to add to the later campaign with which the limit of the ratio leaves 1 out with
// settlingChance, if the estimates hold. The earlier campaign stays as it is. The distance of the limit is the root of the squared
// distances of the limits of the two percentiles, the later one's that of as many readings with a value; the estimate moves by what
// the new readings bring.
func further(d *difference, a, b *side, o Options) int {
	if p := d.below(0); p > o.Confidence || p < 1-o.Confidence {
		return 0
	}
	z := numeric.NormalQuantile(o.Percentile)
	estimate := a.Fit.Mu + z*a.Fit.Sigma
	change := b.Fit.Mu + z*b.Fit.Sigma - estimate
	// For a fall the later percentile must stay under its upper limit and the earlier one over its lower.
	level := o.Confidence
	if change > 0 {
		level = 1 - level
	}
	earlier, err := a.percentile.Quantile(1 - level)
	if err != nil {
		return 0
	}
	now, err := b.percentile.Quantile(level)
	if err != nil {
		return 0
	}
	counts := reading.Count(b.Readings)
	share := float64(max(counts.Detected, 1)) / float64(counts.Readings)
	sigma, likely := b.Fit.Sigma, numeric.NormalQuantile(settlingChance)
	distance := func(n float64) float64 {
		return sigma * (numeric.ToleranceFactor(max(int(share*n), 2), o.Percentile, level) - z)
	}
	// Censored readings do not count quite as the share with a value does, so that the distance starts from the one there is.
	scale := (now - estimate - change) / distance(float64(counts.Readings))
	n := 1 + sort.Search(mostFurther, func(i int) bool {
		n := i + 1
		all := float64(counts.Readings + n)
		later := scale * distance(all)
		moves := sigma * math.Sqrt((1+z*z/2)*float64(n)/share) / all
		return math.Hypot(earlier-estimate, later)+likely*moves <= math.Abs(change)
	})
	if n > mostFurther {
		return 0
	}
	return n
}

// arithmetic is the estimate of the arithmetic mean that an assessment gives, by any confidence.
func arithmetic(s *side) float64 {
	const whichever = 0.95
	m, err := limit.ArithmeticMean(s.Fit, whichever)
	if err != nil {
		return math.NaN()
	}
	return m.Estimate
}

func exceedance(a, b *side, o Options) *limit.Bounds {
	q := *o.LogLimit
	out := unknown()
	if d := newDifference(a.exceedance, b.exceedance); d != nil {
		d.bounded = true
		out = d.bounds(numeric.NormalSurvival((q-b.Fit.Mu)/b.Fit.Sigma)-numeric.NormalSurvival((q-a.Fit.Mu)/a.Fit.Sigma), o.Confidence)
	}
	return &out
}

func unknown() limit.Bounds {
	return limit.Bounds{Estimate: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
}

func absent(name string) Test { return Test{Name: name, Statistic: math.NaN(), PValue: math.NaN()} }

// exponential moves bounds from the scale of ln reading to a ratio; what no float64 holds is NaN.
func exponential(b limit.Bounds) limit.Bounds {
	move := func(v float64) float64 {
		if v = math.Exp(v); math.IsInf(v, 0) {
			return math.NaN()
		}
		return v
	}
	return limit.Bounds{Estimate: move(b.Estimate), Lower: move(b.Lower), Upper: move(b.Upper)}
}
