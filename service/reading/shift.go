package reading

import (
	"math"

	"example.com/tailbound/service/fault"
)

// ReductionSource is where the reduction factors of Shifts come from.
const ReductionSource = "Brief and Scala 1975, American Industrial Hygiene Association Journal 36:467 (from memory); the daily form " +
	"as reprinted by several secondary sources, the weekly form from memory"

// The hours a day and a week that a limit is stated for, and the most that a reduction is defined for.
const (
	UsualDay, LongestDay   = 8, 23
	UsualWeek, LongestWeek = 40, 160
)

// Shifts says how long people are exposed where that is longer than what the limit is stated for, 8 hours a day and 40 hours a
// week. The zero value of a field says nothing, and reduces nothing.
type Shifts struct {
	// DayHours is the length of a shift in hours, 8 to 23.
	DayHours float64
	// WeekHours is the hours of a week, 40 to 160.
	WeekHours float64
}

// Check returns a fault when the hours are outside what a reduction is defined for.
func (s Shifts) Check() error {
	if s.DayHours != 0 && !(s.DayHours >= UsualDay && s.DayHours <= LongestDay) {
		return fault.Invalid("shiftHours", "is %v; accepted is a number from %d to %d", s.DayHours, UsualDay, LongestDay)
	}
	if s.WeekHours != 0 && !(s.WeekHours >= UsualWeek && s.WeekHours <= LongestWeek) {
		return fault.Invalid("weekHours", "is %v; accepted is a number from %d to %d", s.WeekHours, UsualWeek, LongestWeek)
	}
	return nil
}

// Factor is what a limit is multiplied by, at most 1, and why. More hours of exposure and fewer of recovery both count:
//
//	day   8/h × (24 - h)/16
//	week  40/h × (168 - h)/128
//
// With both stated the smaller one holds (common practice). The words are empty when nothing is stated. Limits with a rule of
// their own for long shifts, as a legal one may have, are for the caller to state.
func (s Shifts) Factor() (factor float64, why string) {
	factor = 1
	if h := s.DayHours; h != 0 {
		factor = UsualDay * (24 - h) / (16 * h)
		why = "for shifts of " + Stated(h) + " h by (8/" + Stated(h) + ") × (24 - " + Stated(h) + ")/16 = " + Stated(factor)
	}
	if h := s.WeekHours; h != 0 {
		week := UsualWeek * (168 - h) / (128 * h)
		words := "for weeks of " + Stated(h) + " h by (40/" + Stated(h) + ") × (168 - " + Stated(h) + ")/128 = " + Stated(week)
		if why == "" {
			return week, words
		}
		factor, why = math.Min(factor, week), why+" and "+words+", of which the smaller holds"
	}
	return factor, why
}
