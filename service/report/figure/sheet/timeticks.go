package sheet

import (
	"math"
	"time"
)

// mostTimes is how many marks an axis of time has room for.
const mostTimes = 6

// TimeTicks mark round times between two, in Seconds, and name the axis, which says the date where the marks tell hours only.
func TimeTicks(low, high float64) (ticks []Tick, name string) {
	switch span := high - low; {
	case span <= 2*24*3600:
		return clockTicks(low, high)
	case span <= 200*24*3600:
		return dayTicks(low, high), "Start"
	default:
		return monthTicks(low, high), "Start"
	}
}

// clockTicks mark hours, minutes or seconds.
func clockTicks(low, high float64) (ticks []Tick, name string) {
	form, step := "15:04", 12*3600.0
	for _, s := range [...]float64{1, 2, 5, 10, 30, 60, 120, 300, 600, 1800, 3600, 2 * 3600, 3 * 3600, 6 * 3600, 12 * 3600} {
		if (high-low)/s <= mostTimes {
			step = s
			break
		}
	}
	if step < 60 {
		form = "15:04:05"
	}
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		ticks = append(ticks, Tick{v, moment(v).Format(form)})
	}
	first, last := moment(low).Format(time.DateOnly), moment(high).Format(time.DateOnly)
	if first == last {
		return ticks, "Start, " + first
	}
	return ticks, "Start, " + first + " to " + last
}

// dayTicks mark days.
func dayTicks(low, high float64) []Tick {
	const day = 24 * 3600
	step := float64(day)
	for _, days := range [...]float64{1, 2, 5, 7, 14, 28, 56} {
		if step = days * day; (high-low)/step <= mostTimes-1 {
			break
		}
	}
	var ticks []Tick
	for v := math.Ceil(low/day) * day; v <= high; v += step {
		ticks = append(ticks, Tick{v, moment(v).Format(time.DateOnly)})
	}
	return ticks
}

// monthTicks mark the beginnings of months or years.
func monthTicks(low, high float64) []Tick {
	const month = 30.44 * 24 * 3600
	step := 12 * 2000
	for _, months := range [...]int{1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200, 6000, 12000} {
		if (high-low)/(float64(months)*month) <= mostTimes {
			step = months
			break
		}
	}
	form := "2006-01"
	if step%12 == 0 {
		form = "2006"
	}
	first := moment(low)
	index := 12*first.Year() + int(first.Month()) - 1
	var ticks []Tick
	for i := (index + step - 1) / step * step; len(ticks) <= 2*mostTimes; i += step {
		at := time.Date(i/12, time.Month(i%12+1), 1, 0, 0, 0, 0, time.UTC)
		v := Seconds(at)
		if v > high {
			break
		}
		if v >= low {
			ticks = append(ticks, Tick{v, at.Format(form)})
		}
	}
	return ticks
}

// Seconds is a time as a number; no clock counts further than the years 1 to 9999.
func Seconds(t time.Time) float64 { return float64(t.Unix()) + float64(t.Nanosecond())/1e9 }

func moment(seconds float64) time.Time { return time.Unix(int64(math.Round(seconds)), 0).UTC() }
