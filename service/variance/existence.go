package variance

import (
	"math"

	"example.com/tailbound/service/fault"
)

// determined returns an Undetermined fault when the readings cannot tell the two variances.
//
// The likelihood has a maximum with sigma_w > 0 when in some zone no single value explains all readings, for then it falls to 0
// as sigma_w does; and it falls to 0 as the sigmas grow when some reading has a value or two bounds.
func determined(zones []zone, what string) error {
	repeated, apart, bounded := false, false, false
	for i := range zones {
		z := &zones[i]
		repeated = repeated || z.count() > 1
		apart = apart || z.apart()
		bounded = bounded || z.bounded()
	}
	switch {
	case len(zones) < 2:
		return fault.Unsettled("all readings are of one %s: the variance between %ss needs at least two of them", what, what)
	case !repeated:
		return fault.Unsettled("every %s has one reading, so the variance within %ss cannot be told from that between them: "+
			"take a second reading in some of them", what, what)
	case !bounded:
		return fault.Unsettled("no reading has a value, so nothing sets a ceiling to the variances: take readings that have a value")
	case !apart:
		return fault.Unsettled("in every %s one single value would explain all readings, so the variance within %ss cannot be told: "+
			"take more readings in each, report more digits or lower the reporting limit", what, what)
	}
	return nil
}

// apart says whether no single value is compatible with all readings, the ends of a range counted as compatible.
func (z *zone) apart() bool {
	floor, ceiling := z.common()
	return floor > ceiling
}

// common returns the largest lower end and the smallest upper end of the readings.
func (z *zone) common() (floor, ceiling float64) {
	floor, ceiling = math.Inf(-1), math.Inf(1)
	for _, s := range z.spans {
		floor, ceiling = max(floor, s.lower), min(ceiling, s.upper)
	}
	return floor, ceiling
}

// bounded says whether some reading has a value or two bounds.
func (z *zone) bounded() bool {
	for _, s := range z.spans {
		if !math.IsInf(s.lower, -1) && !math.IsInf(s.upper, 1) {
			return true
		}
	}
	return false
}
