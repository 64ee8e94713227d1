package table

import "strings"

// moment is a time as it is written.
type moment struct {
	// date are the three numbers of the date in the order in which they stand; yearFirst says that the first has four digits.
	date      [3]int
	yearFirst bool
	// shortYear says that no number of the date has four digits.
	shortYear bool
	// named says that the month is written by its name; the date is then put in the order of year, month and day, or left in its own
	// when the year has two digits.
	named bool
	// clocked says that a time of day is written.
	clocked              bool
	hour, minute, second int
	nanosecond           int
	// zoned says that an offset from UTC is written, in seconds.
	zoned  bool
	offset int
}

// scanner reads a cell from left to right.
type scanner struct {
	text []byte
	at   int
}

// scan takes a time apart and says whether it is written like one: three numbers with one mark (/ . -) between them, or a day, the
// English name of a month and a year, then perhaps hours, minutes, seconds, a half of the day and an offset.
func scan(cell []byte) (m moment, ok bool) {
	s := scanner{text: cell}
	if !s.date(&m) {
		s.at, m = 0, moment{}
		if !s.namedDate(&m) {
			return m, false
		}
	}
	if s.done() {
		return m, true
	}
	if !s.take('T') {
		if !s.take(' ') {
			return m, false
		}
		s.spaces()
	}
	return m, s.timeOfDay(&m) && s.zone(&m) && s.done()
}

func (s *scanner) done() bool { return s.at == len(s.text) }

func (s *scanner) take(c byte) bool {
	if s.at < len(s.text) && s.text[s.at] == c {
		s.at++
		return true
	}
	return false
}

func (s *scanner) spaces() {
	s.at += spaces(s.text[s.at:])
}

// number reads digits.
func (s *scanner) number(most int) (v, digits int) {
	for s.at < len(s.text) && digits < most {
		c := s.text[s.at]
		if c < '0' || c > '9' {
			break
		}
		v = 10*v + int(c-'0')
		s.at++
		digits++
	}
	return v, digits
}

func (s *scanner) date(m *moment) bool {
	const year, day = 4, 2
	var digits [3]int
	var mark byte
	for i := range m.date {
		m.date[i], digits[i] = s.number(year)
		switch {
		case digits[i] == 0:
			return false
		case i == 0:
			if s.done() || strings.IndexByte("/.-", s.text[s.at]) < 0 {
				return false
			}
			mark = s.text[s.at]
			s.at++
		case i == 1 && !s.take(mark):
			return false
		}
	}
	m.yearFirst = digits[0] == year
	m.shortYear = digits[0] <= day && digits[2] == day
	switch {
	case digits[1] > day:
		return false
	case m.yearFirst:
		return digits[2] <= day
	default:
		return digits[0] <= day && (digits[2] == year || digits[2] == day)
	}
}

func (s *scanner) timeOfDay(m *moment) bool {
	const two, most = 2, 9
	var digits int
	if m.hour, digits = s.number(two); digits == 0 || !s.take(':') {
		return false
	}
	if m.minute, digits = s.number(two); digits != two {
		return false
	}
	if s.take(':') {
		if m.second, digits = s.number(two); digits != two {
			return false
		}
		if s.take('.') || s.take(',') {
			if m.nanosecond, digits = s.number(most); digits == 0 {
				return false
			}
			for ; digits < most; digits++ {
				m.nanosecond *= 10
			}
			// What is finer than a nanosecond is dropped.
			for more := 1; more > 0; {
				_, more = s.number(most)
			}
		}
	}
	m.clocked = m.minute < 60 && m.second < 60
	return m.clocked && s.half(m)
}

// half reads AM or PM, or a.m. or p.m., and turns the hour into one of 24.
func (s *scanner) half(m *moment) bool {
	start := s.at
	s.spaces()
	const noon = 12
	switch letter := s.letter(); letter {
	case 'a', 'p':
		dotted := s.take('.')
		if s.letter() != 'm' || dotted != s.take('.') || m.hour < 1 || m.hour > noon {
			return false
		}
		m.hour %= noon
		if letter == 'p' {
			m.hour += noon
		}
	default:
		s.at = start
	}
	return m.hour < 24
}

// letter reads one letter and returns it in lower case; 0 when there is none.
func (s *scanner) letter() byte {
	if s.done() {
		return 0
	}
	c := s.text[s.at] | 0x20
	if c < 'a' || c > 'z' {
		return 0
	}
	s.at++
	return c
}

// zone reads Z, +01:00 or +0100.
func (s *scanner) zone(m *moment) bool {
	if s.done() {
		return true
	}
	s.spaces()
	if s.take('Z') {
		m.zoned = true
		return true
	}
	sign := 1
	if !s.take('+') {
		if !s.take('-') {
			return false
		}
		sign = -1
	}
	hours, digits := s.number(2)
	s.take(':')
	minutes, more := s.number(2)
	m.zoned, m.offset = true, sign*(hours*60+minutes)*60
	return digits == 2 && more == 2 && hours < 24 && minutes < 60
}
