package table

import "strings"

// namedDate reads a day, the English name of a month and a year, such as 09-Mar-2026, 9 March 2026 or 2026-Mar-09, or the month first,
// as in Mar 9, 2026. Nothing in them can be taken for something else, but where the year has two digits, as in 09-Mar-26.
func (s *scanner) namedDate(m *moment) bool {
	const year, day = 4, 2
	m.named, m.yearFirst = true, true
	if m.date[1] = s.month(); m.date[1] > 0 {
		var digits int
		if !s.take(' ') {
			return false
		}
		m.date[2], digits = s.number(year)
		s.take(',')
		return digits > 0 && digits <= day && s.take(' ') && s.exactly(year, &m.date[0])
	}
	first, digits := s.number(year)
	if digits == 0 || digits == 3 || s.done() {
		return false
	}
	mark := s.text[s.at]
	if strings.IndexByte("/.- ", mark) < 0 {
		return false
	}
	s.at++
	if m.date[1] = s.month(); m.date[1] == 0 || !s.take(mark) {
		return false
	}
	if digits == year {
		m.date[0] = first
		m.date[2], digits = s.number(year)
		return digits > 0 && digits <= day
	}
	last, digits := s.number(year)
	switch digits {
	case year:
		m.date[0], m.date[2] = last, first
		return true
	case day:
		m.date[0], m.date[2] = first, last
		m.yearFirst, m.shortYear = false, true
		return true
	}
	return false
}

// exactly reads a number of so many digits.
func (s *scanner) exactly(digits int, v *int) bool {
	n := 0
	*v, n = s.number(digits)
	return n == digits
}

// month reads the English name of a month, whole or its first three letters, and returns its number; 0 when there is none.
func (s *scanner) month() int {
	start := s.at
	for s.letter() != 0 {
	}
	name := strings.ToLower(string(s.text[start:s.at]))
	for i, whole := range [...]string{
		"january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
	} {
		if name == whole || name == whole[:3] {
			return i + 1
		}
	}
	s.at = start
	return 0
}
