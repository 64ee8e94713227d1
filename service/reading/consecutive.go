package reading

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/tailbound/service/fault"
)

// LongestCombined is the longest time within which samples may be taken together.
const LongestCombined = 24 * time.Hour

// combine takes consecutive samples of one shift together, as their time-weighted average over the sampled time,
//
//	sum of minutes × result / sum of minutes    (29 CFR 1910.1000(d)(1), without its fixed 8 hours)
//
// Samples are of one shift when they share zone, subject and campaign, do not overlap, and lie within the stated time from the start
// of the first to the end of the last. The ends of results without a value are averaged likewise. Samples without start or duration
// stand alone. The fault names samples that overlap.
func (t *TabledGroup) combine(within time.Duration) error {
	order := t.inTime()
	readings, places := make([]Reading, 0, len(order)), make([]Place, 0, len(order))
	for i := 0; i < len(order); {
		n, err := t.shift(order[i:], within)
		if err != nil {
			return err
		}
		readings = append(readings, t.average(order[i:i+n]))
		places = append(places, t.Places[order[i]])
		i += n
	}
	if combined := len(t.Readings) - len(readings); combined > 0 {
		t.Remarks = append(t.Remarks, fmt.Sprintf("%d samples were taken together as %d averages of shifts, weighted by time, for they "+
			"follow one another within %v h.", len(t.Readings), len(readings), within.Hours()))
	}
	t.Readings, t.Places = readings, places
	return nil
}

// inTime is the order of the readings by who and where they are of, then by start, then as they stand.
func (t *TabledGroup) inTime() []int {
	order := make([]int, len(t.Readings))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &t.Readings[i], &t.Readings[j]
		return cmp.Or(cmp.Compare(a.Zone, b.Zone), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Campaign, b.Campaign), a.Start.Compare(b.Start))
	})
	return order
}

// shift returns how many of the readings in order belong to the shift of the first.
func (t *TabledGroup) shift(order []int, within time.Duration) (int, error) {
	first := &t.Readings[order[0]]
	if !first.timed() {
		return 1, nil
	}
	end := first.Start.Add(first.Duration)
	for n, i := range order[1:] {
		r := &t.Readings[i]
		if !r.timed() || r.Zone != first.Zone || r.Subject != first.Subject || r.Campaign != first.Campaign {
			return n + 1, nil
		}
		if r.Start.Before(end) {
			return 0, fault.Invalid(t.Places[i].String(), "overlaps in time with the sample of %v, of the same zone and subject; consecutive samples "+
				"do not: state who wore each", t.Places[order[n]])
		}
		if end = r.Start.Add(r.Duration); end.Sub(first.Start) > within {
			return n + 1, nil
		}
	}
	return len(order), nil
}

// timed says whether it is known when the reading was taken.
func (r *Reading) timed() bool { return !r.Start.IsZero() && r.Duration > 0 }

// average is the time-weighted average of readings of one shift.
func (t *TabledGroup) average(order []int) Reading {
	out := t.Readings[order[0]]
	if len(order) == 1 {
		return out
	}
	out.Duration = 0
	for _, i := range order {
		out.Duration += t.Readings[i].Duration
	}
	out.Lower, out.Upper = 0, 0
	for _, i := range order {
		r := &t.Readings[i]
		weight := float64(r.Duration) / float64(out.Duration)
		out.Lower += weight * r.Lower
		out.Upper += weight * r.Upper
	}
	out.Kind = kindOf(t.Readings, order, out.Lower, out.Upper)
	if out.Kind == Detected {
		out.Upper = out.Lower
	}
	return out
}

// kindOf is what is known of an average: it has a value when all of its parts have.
func kindOf(readings []Reading, order []int, lower, upper float64) Kind {
	valued := !slices.ContainsFunc(order, func(i int) bool { return readings[i].Kind != Detected })
	switch {
	case valued:
		return Detected
	case math.IsInf(upper, 1):
		return Above
	case lower == 0:
		return Below
	default:
		return Between
	}
}
