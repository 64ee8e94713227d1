package table

import (
	"fmt"
	"time"

	"example.com/tailbound/service/fault"
)

// The orders of day, month and year.
const (
	yearMonthDay = "year-month-day"
	dayMonthYear = "day-month-year"
	monthDayYear = "month-day-year"
)

func dateOrders() []string { return []string{yearMonthDay, dayMonthYear, monthDayYear} }

// Clock reads the times of one file.
type Clock struct {
	// order is that of the dates that do not begin with the year; empty while it is not known.
	order  string
	stated bool
	zone   *time.Location
	utc    bool
	// ascending says that times are expected to go up, which tells the two passes through an hour that a clock repeats.
	ascending bool
	last      time.Time
	// step is how far the last row was behind the one before.
	step time.Duration
	// unzoned counts the times without an offset, repeated those that the clock showed twice, first is the place of the first such.
	unzoned, repeated int64
}

// zoneOf reads an offset such as +01:00 or a name such as Europe/Paris.
func zoneOf(text string) (*time.Location, error) {
	if text == "" || text == "UTC" {
		return time.UTC, nil
	}
	var m moment
	s := scanner{text: []byte(text)}
	if s.zone(&m) && s.done() && m.zoned {
		return time.FixedZone(text, m.offset), nil
	}
	zone, err := time.LoadLocation(text)
	if err != nil || text == "Local" {
		return nil, fault.Invalid("timeZone", "%q is not known; accepted are an offset such as +01:00 and a name such as Europe/Paris", text)
	}
	return zone, nil
}

// Time reads a time with its time of day, as every row of a log has one. The text says what is wrong; it is empty for a time.
func (c *Clock) Time(cell []byte) (t time.Time, wrong string) {
	if c.utc {
		if t, ok := parseFixed(cell); ok {
			c.unzoned++
			return t, ""
		}
	}
	m, ok := scan(cell)
	switch {
	case !ok:
		return t, fmt.Sprintf("%s is not a time; accepted are 2026-03-09 07:30:00, 2026-03-09T07:30:00+01:00 and, in a known order, 09/03/2026 07:30", Quote(cell))
	case !m.clocked:
		return t, fmt.Sprintf("%s has no time of day", Quote(cell))
	}
	return c.resolve(&m, cell)
}

// Day reads a time as Time does, or a day, which stands for its beginning.
func (c *Clock) Day(cell []byte) (t time.Time, wrong string) {
	m, ok := scan(cell)
	if !ok {
		return t, fmt.Sprintf("%s is not a time; accepted are 2026-03-09, 2026-03-09 07:30, 2026-03-09T07:30:00+01:00 and, in a known order, 09/03/2026", Quote(cell))
	}
	return c.resolve(&m, cell)
}

func (c *Clock) resolve(m *moment, cell []byte) (t time.Time, wrong string) {
	year, month, day, wrong := c.calendar(m, cell)
	if wrong != "" {
		return t, wrong
	}
	zone := c.zone
	if m.zoned {
		zone = time.UTC
	} else {
		c.unzoned++
	}
	t = time.Date(year, time.Month(month), day, m.hour, m.minute, m.second, m.nanosecond, zone)
	// A day that does not exist is carried over by Date: it is no time.
	if probe := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC); probe.Day() != day || int(probe.Month()) != month {
		return t, fmt.Sprintf("%s is not a time: that day does not exist", Quote(cell))
	}
	switch {
	case m.zoned:
		return t.Add(-time.Duration(m.offset) * time.Second), ""
	case c.utc:
		return t, ""
	case t.Hour() != m.hour || t.Minute() != m.minute:
		return t, fmt.Sprintf("%s does not exist in %s: the clock was put forward over it", Quote(cell), zone)
	}
	return c.once(t), ""
}

// calendar puts the numbers of a date in order.
func (c *Clock) calendar(m *moment, cell []byte) (year, month, day int, wrong string) {
	d := m.date
	switch {
	case m.yearFirst:
		year, month, day = d[0], d[1], d[2]
	case m.shortYear && !c.stated:
		return 0, 0, 0, fmt.Sprintf("%s has a year of two digits; state the order of the date to have it read as 20..", Quote(cell))
	case c.order == dayMonthYear || m.named && c.order == monthDayYear:
		day, month, year = d[0], d[1], d[2]
	case c.order == monthDayYear:
		month, day, year = d[0], d[1], d[2]
	case m.shortYear && c.order == yearMonthDay:
		year, month, day = d[0], d[1], d[2]
	default:
		return 0, 0, 0, fmt.Sprintf("%s does not begin with the year, and the order of day and month is not known; state it", Quote(cell))
	}
	const century = 2000
	if m.shortYear {
		year += century
	}
	if !plausible(year, month, day) {
		return 0, 0, 0, fmt.Sprintf("%s is not a time: there is no such day, the order being %s", Quote(cell), c.orderOf(m))
	}
	return year, month, day, ""
}

// plausible leaves it to the calendar how many days a month has.
func plausible(year, month, day int) bool {
	const earliest, latest, months = 1000, 9998, 12
	return year >= earliest && year <= latest && month >= 1 && month <= months && day >= 1
}

func (c *Clock) orderOf(m *moment) string {
	if m.yearFirst {
		return yearMonthDay
	}
	return c.order
}

// once decides between the two passes through an hour that the clock shows twice: the first, unless rows already went past it.
func (c *Clock) once(t time.Time) time.Time {
	first, second := passes(t)
	if !first.Equal(second) {
		c.repeated++
		t = first
		if c.ascending && c.wentPast(first, second) {
			t = second
		}
	}
	if c.ascending && t.After(c.last) {
		if !c.last.IsZero() {
			c.step = t.Sub(c.last)
		}
		c.last = t
	}
	return t
}

// wentPast says that rows went past the first pass. The same time again is a second value of one time, unless the rows are as far
// apart as the passes; a row that would be nearer as one out of order is taken as that, unless the rows are so far apart. A row behind
// the last one is of the second pass only where that alone keeps the step of the rows before.
func (c *Clock) wentPast(first, second time.Time) bool {
	back, ahead := c.last.Sub(first), second.Sub(c.last)
	put, _ := second.ZoneBounds()
	switch {
	case back < 0:
		const part = 100
		return c.step > 0 && (ahead-c.step).Abs() <= c.step/part
	case !c.last.Before(put):
		return true
	case back == 0:
		return c.step >= second.Sub(first)
	default:
		return ahead <= back || 2*ahead <= 3*c.step
	}
}

// passes returns the two times at which the clock shows the same as at t; they are equal when it shows it once.
func passes(t time.Time) (first, second time.Time) {
	start, end := t.ZoneBounds()
	_, offset := t.Zone()
	if !start.IsZero() {
		_, before := start.Add(-time.Second).Zone()
		if back := time.Duration(before-offset) * time.Second; back > 0 && t.Before(start.Add(back)) {
			return t.Add(-back), t
		}
	}
	if !end.IsZero() {
		_, after := end.Zone()
		if back := time.Duration(offset-after) * time.Second; back > 0 && !t.Before(end.Add(-back)) {
			return t, t.Add(back)
		}
	}
	return t, t
}

// parseFixed reads the form 2026-03-09T07:30:00, the T or a space, without taking it apart first.
func parseFixed(cell []byte) (time.Time, bool) {
	const marks = "0000-00-00 00:00:00"
	if len(cell) != len(marks) {
		return time.Time{}, false
	}
	for i := range marks {
		if marks[i] != '0' && cell[i] != marks[i] && (i != 10 || cell[i] != 'T') {
			return time.Time{}, false
		}
	}
	var parts [6]int
	for i, place := range [...][2]int{{0, 4}, {5, 7}, {8, 10}, {11, 13}, {14, 16}, {17, 19}} {
		for _, c := range cell[place[0]:place[1]] {
			if c < '0' || c > '9' {
				return time.Time{}, false
			}
			parts[i] = 10*parts[i] + int(c-'0')
		}
	}
	return existing(parts)
}

// existing is the time of year, month, day, hour, minute and second, if there is one.
func existing(parts [6]int) (time.Time, bool) {
	const earliest, latest = 1000, 9998
	t := time.Date(parts[0], time.Month(parts[1]), parts[2], parts[3], parts[4], parts[5], 0, time.UTC)
	exists := t.Month() == time.Month(parts[1]) && t.Day() == parts[2] && t.Hour() == parts[3] && parts[4] < 60 && parts[5] < 60
	return t, exists && parts[0] >= earliest && parts[0] <= latest
}

// TimeIn reads a time that begins with the year; without an offset it is of the zone, an offset such as +01:00 or a name such as
// Europe/Paris, or of UTC when that is empty. The text says what is wrong: a time that the clock of the zone does not show, or shows
// twice, is none.
func TimeIn(text, zone string) (t time.Time, wrong string) {
	place, err := zoneOf(zone)
	if err != nil {
		return t, fmt.Sprintf("the time zone %s is not known", Quote(zone))
	}
	c := &Clock{zone: place, utc: place.String() == "UTC"}
	if t, wrong = c.Time([]byte(text)); wrong == "" && c.repeated > 0 {
		return t, fmt.Sprintf("%s is shown twice by the clock of %s, which was put back; state its offset", Quote(text), place)
	}
	return t, wrong
}

// ParseTime reads a time that begins with the year; without an offset it is taken as UTC.
func ParseTime(text string) (time.Time, bool) {
	t, wrong := (&Clock{zone: time.UTC, utc: true}).Time([]byte(text))
	return t, wrong == ""
}
