package variance

import (
	"fmt"
	"math"
)

// notes says what the reader must know.
func (r *Result) notes(o Options) []Note {
	var out []Note
	add := func(code, format string, args ...any) { out = append(out, Note{code, fmt.Sprintf(format, args...)}) }
	if r.Anova != nil && r.Anova.BetweenVariance < 0 {
		add("negative-between", "The analysis of variance gives a negative variance between %ss (%s); it is taken as 0: the %s means differ "+
			"by less than the readings within them would make them.", o.What, number(r.Anova.BetweenVariance), o.What)
	}
	if r.Between.Estimate == 0 {
		add("no-between", "The estimate of the variation between %ss is 0. That does not show that there is none: the upper limit says how "+
			"much there may be.", o.What)
	}
	if n := len(r.Zones); n < fewZones {
		add("few-zones", "With %d %ss the variation between them is hardly known; %d or more say much more.", n, o.What, fewZones)
	}
	single := 0
	for _, z := range r.Zones {
		if z.Readings == 1 {
			single++
		}
	}
	if single > 0 {
		add("single-readings", "%d of %d %ss have one reading; they say nothing of the variation within.", single, len(r.Zones), o.What)
	}
	if r.Censored > 0 {
		add("approximate-limits", "%d of %d readings have no value: estimates are those of the likelihood, but the limits, the F test and the "+
			"split are approximate.", r.Censored, r.Readings)
	}
	if math.IsNaN(r.Restricted.Within) {
		add("likelihood-only", "Only one %s has readings that tell its mean, so the restricted likelihood has no maximum: the estimates are those "+
			"of the likelihood, which makes the variation between %ss too small.", o.What, o.What)
	}
	if math.IsNaN(r.Between.Upper) || math.IsNaN(r.Within.Upper) {
		add("no-limits", "Too many readings have no value for limits of the variances.")
	}
	return out
}
