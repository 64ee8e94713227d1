package decision

import (
	"cmp"
	"math"
	"slices"
	"time"

	"example.com/tailbound/service/reading"
)

const singleShiftSource = "Leidel, Busch and Lynch 1977, Occupational Exposure Sampling Strategy Manual, NIOSH 77-173, 4.2.1 and 4.2.2 " +
	"(from memory); worked examples reprinted from the OSHA Technical Manual"

// shiftScore is the 95th percentile of the normal distribution as the manual rounds it.
const shiftScore = 1.645

// longestShift is the time from the start of the first to the end of the last sample of one shift.
const longestShift = 24 * time.Hour

func singleShiftRule() rule {
	return rule{
		id: SingleShift, name: "SINGLE_SHIFT", title: "single full-period sample", source: singleShiftSource, decide: singleShift,
		needs: "the coefficient of variation of the measurement, and one full-period sample, or consecutive samples with values, starts and " +
			"durations of one subject that cover one shift",
		answers: "whether that shift, not the group, was at or under the limit with 95 % confidence, in view of the error of measurement alone",
	}
}

// singleShift compares x ± 1.645 CV with 1, x being the result over the limit.
func singleShift(e *Evidence) (Outcome, string) {
	switch {
	case e.RelativeError <= 0:
		return NoOutcome, "It takes the relative error of the measurement (its coefficient of variation), and none is stated."
	case len(e.Readings) == 1:
		return e.fullPeriod(e.Readings[0])
	case len(e.Readings) == 0:
		return NoOutcome, "There is no reading."
	}
	samples, why := oneShift(e.Readings)
	if why != "" {
		return NoOutcome, why
	}
	return e.consecutive(samples)
}

// fullPeriod judges one sample. What has no value lies between two ends, and the rule must hold for both.
func (e *Evidence) fullPeriod(r reading.Reading) (Outcome, string) {
	margin := shiftScore * e.RelativeError
	p := e.prose().say("One full-period sample, ").result(r).say(", with the coefficient of variation ").number(e.RelativeError).say(": x = ")
	if r.Kind == reading.Detected {
		x := r.Lower / e.Limit
		p.asWritten(r.Lower).say("/").asWritten(e.Limit).say(" = ").number(x).say(", ")
		return shiftOutcome(p, x-margin, x+margin)
	}
	lower, upper := r.Lower/e.Limit, r.Upper/e.Limit
	switch r.Kind {
	case reading.Below:
		p.say("less than ").number(upper)
	case reading.Above:
		p.say("more than ").number(lower)
	default:
		p.number(lower).say(" to ").number(upper)
	}
	return shiftOutcome(p.say(", "), lower-margin, upper+margin)
}

// shiftOutcome adds the 95 % limits of x; above a range there is no upper one.
func shiftOutcome(p *prose, lower, upper float64) (Outcome, string) {
	if math.IsInf(upper, 1) {
		return shiftVerdict(p.say("so the lower 95 % limit, x - 1.645 × CV, is at least ").number(lower), lower, upper)
	}
	return shiftVerdict(p.say("so the 95 % limits x ± 1.645 × CV are ").number(lower).say(" and ").number(upper), lower, upper)
}

// shiftVerdict compares the 95 % limits of x with 1.
func shiftVerdict(p *prose, lower, upper float64) (Outcome, string) {
	const scope = " This judges the shift that was measured, not the group's other shifts."
	switch {
	case upper < 1:
		return Compliant, p.say(": the upper one is below 1.").say(scope).String()
	case lower > 1:
		return NotCompliant, p.say(": the lower one is above 1.").say(scope).String()
	}
	return Undecided, p.say(": they leave 1 possible.").say(scope).String()
}

// oneShift returns the samples in the order of time, or why they are not consecutive samples of one subject in one shift.
func oneShift(readings []reading.Reading) ([]reading.Reading, string) {
	samples := slices.Clone(readings)
	slices.SortFunc(samples, func(a, b reading.Reading) int {
		return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.Duration, b.Duration), cmp.Compare(a.Lower, b.Lower))
	})
	first, last := samples[0], samples[len(samples)-1]
	for i, r := range samples {
		switch {
		case r.Subject == "" || r.Subject != first.Subject || r.Start.IsZero() || r.Duration <= 0:
			return nil, "It takes one sample, or consecutive samples of one subject with their starts and durations."
		case r.Kind != reading.Detected:
			return nil, "Of consecutive samples each must have a value."
		case i > 0 && r.Start.Before(samples[i-1].Start.Add(samples[i-1].Duration)):
			return nil, "The samples overlap in time, so they are not consecutive samples of one shift."
		}
	}
	if last.Start.Add(last.Duration).Sub(first.Start) > longestShift {
		return nil, "It takes the samples of one shift, and these are spread over more than 24 hours."
	}
	return samples, ""
}

// consecutive judges consecutive samples: with the times T and the results X, TWA = sum TX / sum T and the limits are
// TWA/L ± 1.645 CV sqrt(sum T²X²)/(L sum T).
func (e *Evidence) consecutive(samples []reading.Reading) (Outcome, string) {
	var minutes, doses, largest float64
	for _, r := range samples {
		largest = max(largest, r.Lower)
	}
	// Scaled by the largest result so that no square overflows.
	var squares float64
	for _, r := range samples {
		t, x := r.Duration.Minutes(), r.Lower/largest
		minutes += t
		doses += t * x
		squares += t * x * t * x
	}
	x := doses / minutes * (largest / e.Limit)
	margin := shiftScore * e.RelativeError * math.Sqrt(squares) / minutes * (largest / e.Limit)
	p := e.prose().count(len(samples)).say(" consecutive samples over ").number(minutes).say(" minutes with the coefficient of variation ").
		number(e.RelativeError).say(": time-weighted mean ").amount(doses / minutes * largest).say(", x = mean/limit = ").number(x).
		say(", 1.645 × CV × sqrt(sum of (minutes × result)²)/(limit × minutes) = ").number(margin).say(", ")
	p.say("so the 95 % limits of x are ").number(x - margin).say(" and ").number(x + margin)
	return shiftVerdict(p, x-margin, x+margin)
}
