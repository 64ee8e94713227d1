package table

import (
	"bytes"
	"fmt"
	"slices"
	"time"

	"example.com/tailbound/service/fault"
)

// dateSample is how much of a file may be looked through for a day above 12, in bytes.
const dateSample = 1 << 20

// evidence is what the dates of a sample say of their order.
type evidence struct {
	// dates counts those that do not begin with the year, days those that do.
	dates, yearFirst int
	example          string
	// named says that the month stands as a name in a date.
	named bool
	// dayFirst and monthFirst are dates whose numbers allow only that, with their lines.
	dayFirst, monthFirst         string
	dayFirstLine, monthFirstLine int
}

// Clock returns what reads the times of the columns, which are joined by a space. Its order is found out from the first rows
// when it is not stated; the fault says when no row proves it.
func (t *Reader) Clock(columns ...int) (*Clock, error) {
	zone, err := zoneOf(t.format.TimeZone)
	if err != nil {
		return nil, err
	}
	c := &Clock{zone: zone, utc: zone.String() == "UTC", order: t.format.DateOrder, stated: t.format.DateOrder != ""}
	t.clock = c
	if c.stated {
		return c, nil
	}
	e := t.evidence(columns, sampleSize, mostSampled)
	if e.dates > 0 && e.dayFirst == "" && e.monthFirst == "" {
		e = t.evidence(columns, dateSample, dateSample)
	}
	switch {
	case e.dates == 0:
		t.format.DateOrder = yearMonthDay
		if e.yearFirst > 0 && !e.named {
			t.guessf(true, "The dates were read as year-month-day, for they begin with a year of four digits.")
		}
	case e.dayFirst != "" && e.monthFirst != "":
		return nil, t.place(e.monthFirstLine).Fault("", "has the month first in %s, and line %d has the day first in %s; state the order of the dates",
			e.monthFirst, e.dayFirstLine, e.dayFirst)
	case e.dayFirst != "":
		c.order = dayMonthYear
		t.guessf(false, "The dates were read as day-month-year, for %s on line %d cannot be otherwise.", e.dayFirst, e.dayFirstLine)
	case e.monthFirst != "":
		c.order = monthDayYear
		t.guessf(false, "The dates were read as month-day-year, for %s on line %d cannot be otherwise.", e.monthFirst, e.monthFirstLine)
	case e.yearFirst > 0:
		// Most likely a slip: those rows are rejected one by one.
	default:
		return nil, t.place(0).Fault("", "%s", e.unsettled())
	}
	if c.order != "" {
		t.format.DateOrder = c.order
	}
	return c, nil
}

// unsettled says why the order of the dates is not known.
func (e *evidence) unsettled() string {
	if e.named {
		return fmt.Sprintf("has dates such as %s, whose year has two digits; state their order, %s or %s", e.example, dayMonthYear, yearMonthDay)
	}
	return fmt.Sprintf("has dates such as %s, in which the day or the month may come first, and no day above 12 in its first rows shows which; "+
		"state their order, %s or %s", e.example, dayMonthYear, monthDayYear)
}

func (t *Reader) evidence(columns []int, size, most int) evidence {
	var e evidence
	s := splitter{delimiter: t.splitter.delimiter}
	for _, line := range t.lines.sample(size, most) {
		cells, err := s.split(line.text)
		if err != nil || slices.Max(columns) >= len(cells) {
			continue
		}
		if m, ok := scan(Join(nil, cells, columns)); ok {
			e.add(&m, Quote(bytes.TrimSpace(cells[columns[0]])), line.number)
		}
	}
	return e
}

// FirstTime is the time of the first row behind the present one that has one, read by the clock of the reader; zoned says that an
// offset from UTC is written.
func (t *Reader) FirstTime(columns ...int) (at time.Time, zoned, found bool) {
	c := *t.clock
	s := splitter{delimiter: t.splitter.delimiter}
	for _, line := range t.lines.sample(sampleSize, mostSampled) {
		cells, err := s.split(line.text)
		if err != nil || slices.Max(columns) >= len(cells) {
			continue
		}
		unzoned := c.unzoned
		if at, wrong := c.Time(bytes.TrimSpace(Join(nil, cells, columns))); wrong == "" {
			return at.In(c.zone), c.unzoned == unzoned, true
		}
	}
	return at, false, false
}

// Join puts the cells of several columns together with spaces.
func Join(to []byte, cells [][]byte, columns []int) []byte {
	for i, column := range columns {
		if i > 0 {
			to = append(to, ' ')
		}
		to = append(to, bytes.TrimSpace(cells[column])...)
	}
	return to
}

func (e *evidence) add(m *moment, text string, line int) {
	const months = 12
	if m.yearFirst {
		e.yearFirst++
		e.named = e.named || m.named
		return
	}
	e.dates++
	e.named = e.named || m.named
	if e.example == "" {
		e.example = text
	}
	switch first, second := m.date[0], m.date[1]; {
	case m.shortYear:
	case first > months && second <= months && e.dayFirst == "":
		e.dayFirst, e.dayFirstLine = text, line
	case second > months && first <= months && e.monthFirst == "":
		e.monthFirst, e.monthFirstLine = text, line
	}
}

// Ascending says that the times go up, as those of a log do.
func (c *Clock) Ascending() { c.ascending = true }

// Notes says how times without an offset were taken. Complete after the last row.
func (c *Clock) notes(file string) []string {
	var notes []string
	if c.repeated > 0 {
		how := "the first of the two was taken"
		if c.ascending {
			how = "the rows before decided which of the two was taken"
		}
		notes = append(notes, fmt.Sprintf("%s: %d times were shown twice by the clock of %s, which was put back; %s", file, c.repeated, c.zone, how))
	}
	return notes
}

func checkZone(text string) error {
	_, err := zoneOf(text)
	return err
}

// Check returns a fault about the first field that cannot be right.
func (f Format) Check() error {
	for _, check := range []error{
		checkOneOf("encoding", f.Encoding, encodingNames()),
		checkOneOf("decimalMark", f.DecimalMark, []string{".", ","}),
		checkOneOf("dateOrder", f.DateOrder, dateOrders()),
		checkZone(f.TimeZone),
	} {
		if check != nil {
			return check
		}
	}
	if f.Delimiter != "" && !slices.Contains(delimiters(), f.Delimiter) {
		return fault.Invalid("delimiter", "%q is not known; accepted are a comma, a semicolon, a vertical bar and a tab", f.Delimiter)
	}
	return nil
}

func delimiters() []string { return []string{",", ";", "\t", "|"} }

// TimeColumns returns the places of the time when nobody names it: the first column that holds times in the first rows, or the first
// two beside each other that hold a date and a time of day. It is the first column when there is none.
func (t *Reader) TimeColumns() []int {
	s := splitter{delimiter: t.splitter.delimiter}
	for _, line := range t.lines.sample(sampleSize, mostSampled) {
		cells, err := s.split(line.text)
		if err != nil || len(cells) < len(t.header) {
			continue
		}
		for i := range t.header {
			if isClocked(cells, i) {
				if i > 0 {
					t.guessf(false, "The time is in the column %s, the first that holds times.", Quote(t.header[i]))
				}
				return []int{i}
			}
			if i+1 < len(t.header) && isClocked(cells, i, i+1) {
				t.guessf(false, "The time is put together from the columns %s and %s, which hold a date and a time of day.",
					Quote(t.header[i]), Quote(t.header[i+1]))
				return []int{i, i + 1}
			}
		}
	}
	return []int{0}
}

// isClocked says that columns together hold a time with its time of day.
func isClocked(cells [][]byte, columns ...int) bool {
	m, ok := scan(Join(nil, cells, columns))
	return ok && m.clocked
}
