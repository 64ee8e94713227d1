package variance

import "example.com/tailbound/service/fault"

// Options says what to report. The zero value of a field stands for its default.
type Options struct {
	// Confidence is that of every limit, one-sided, 0.5 to 0.9999. Default 0.95.
	Confidence float64
	// Percentile is the fraction of a zone's own exposures whose percentile is compared with the limit, 0.5 to 0.999. Default
	// 0.95.
	Percentile float64
	// LogLimit is the natural log of the exposure limit in the unit of the readings; nil when there is none.
	LogLimit *float64
	// What the readings are divided by, in words: "zone" or "subject". Default "zone".
	What string
}

func (o Options) withDefaults() Options {
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	if o.Percentile == 0 {
		o.Percentile = 0.95
	}
	if o.What == "" {
		o.What = "zone"
	}
	return o
}

// check returns a fault that names the option at fault.
func (o Options) check() error {
	if !(o.Confidence >= 0.5 && o.Confidence <= 0.9999) {
		return fault.Invalid("confidence", "is %v; accepted is 0.5 to 0.9999", o.Confidence)
	}
	if !(o.Percentile >= 0.5 && o.Percentile <= 0.999) {
		return fault.Invalid("percentile", "is %v; accepted is 0.5 to 0.999", o.Percentile)
	}
	if o.LogLimit != nil && !(*o.LogLimit-*o.LogLimit == 0) {
		return fault.Invalid("limit.value", "has the logarithm %v; accepted is a finite number greater than 0", *o.LogLimit)
	}
	return nil
}

// Result is the variance of a group between and within its zones. NaN stands for what the readings do not determine.
type Result struct {
	// Readings and Censored count the readings and those without a value.
	Readings, Censored int
	// Between and Within are sigma_b and sigma_w: the estimates of the restricted likelihood with one-sided limits; those of the
	// likelihood where the restricted one has no maximum.
	Between, Within Bounds
	// Share is sigma_b²/(sigma_b² + sigma_w²), 0 to 1.
	Share Bounds
	// Ratio is that of the 97.5th to the 2.5th percentile of the zone means, exp(2 z sigma_b) with 2 z = 3.919928, twice the 97.5th
	// percentile of the normal distribution; 3.92 in the literature. A limit that no float64 holds is NaN.
	Ratio Bounds
	// Chance is that of a randomly chosen zone to have its own percentile above the limit, 0 to 1. Nil without a limit.
	Chance *Bounds
	// Anova is nil when readings are censored.
	Anova *Anova
	Test  FTest
	// Restricted and Likelihood are the maxima of the restricted likelihood (REML) and of the likelihood (ML). The restricted one is
	// NaN when only one zone has readings that keep its mean from both sides, for then it has no maximum.
	Restricted, Likelihood Estimates
	// Zones come by their shrunken geometric mean, the highest first.
	Zones   []Zone
	Pooling Pooling
	// Split is nil unless the zones may not be pooled and some groups of them explain the readings better.
	Split *Split
	// Notes are what the reader must know, in a fixed order.
	Notes []Note
}

// Zone is what the group says of one zone (or subject).
type Zone struct {
	Name string
	// Readings and Censored count its readings and those without a value.
	Readings, Censored int
	// GeometricMean is its own, in the unit of the readings; with censored readings the one of greatest likelihood at the group's
	// sigma_w. NaN when all its readings are below, or all above, so that they have none.
	GeometricMean float64
	// Shrunken is its geometric mean drawn towards the group's, by the best linear unbiased prediction of ln.
	Shrunken float64
	// Percentile is that of its own exposures, exp(ln Shrunken + z sigma_w): a point estimate.
	Percentile float64
	// Deviance is how far its mean lies from what the other zones foretell, as a normal score: beyond ±2 is rare.
	Deviance float64
	// PValue is the probability of a deviance that large on either side; NaN with two zones, where neither foretells the other.
	PValue float64
	// Outside says that the zone does not belong: PValue times the number of zones is below 1 - confidence.
	Outside bool
}

// Pooling is the verdict on treating the zones as one group.
type Pooling struct {
	// Pool says that they may be.
	Pool bool
	// Settled says that the readings bear the verdict out; a group that is pooled for want of evidence is not settled.
	Settled bool
	// Reasons are plain sentences with their numbers, the verdict first.
	Reasons []string
	// Outsiders are the names of the zones that do not belong, in ascending order.
	Outsiders []string
}

// Split is a proposal to judge groups of zones apart.
type Split struct {
	// Groups come by geometric mean, the highest first.
	Groups []SplitGroup
	// Advantage is the difference of BIC to one group of zones that vary at random, greater than 0. Beyond 6 it is strong.
	Advantage float64
	// Reason is a plain sentence with the numbers.
	Reason string
}

// SplitGroup is a group of zones.
type SplitGroup struct {
	// Zones are their names, in ascending order.
	Zones    []string
	Readings int
	// GeometricMean is that of the group, in the unit of the readings.
	GeometricMean float64
}

// Note is something that the reader must know.
type Note struct {
	// Code is a short name for programs, Text a sentence for people.
	Code, Text string
}
