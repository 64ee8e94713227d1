package table

import "strings"

// namedDate reads a day, the English name of a month and a year, such as 09-Mar-2026, 9 March 2026 or 2026-Mar-09, or the month first,
// as in Mar 9, 2026. Nothing in them can be taken for something else, but where the year has two digits, as in 09-Mar-26.
func (s *scanner) namedDate(m *moment) bool {
	m.named, m.yearFirst = true, true
	if m.date[1] = s.month(); m.date[1] > 0 {
		return s.dayAndYear(m)
	}
	first, before := s.number(4)
	if s.done() || strings.IndexByte("/.- ", s.text[s.at]) < 0 {
		return false
	}
	mark := s.text[s.at]
	s.at++
	if m.date[1] = s.month(); m.date[1] == 0 || !s.take(mark) {
		return false
	}
	last, behind := s.number(4)
	switch {
	case before == 4 && (behind == 1 || behind == 2):
		m.date[0], m.date[2] = first, last
	case (before == 1 || before == 2) && behind == 4:
		m.date[0], m.date[2] = last, first
	case (before == 1 || before == 2) && behind == 2:
		m.date[0], m.date[2] = first, last
		m.yearFirst, m.shortYear = false, true
	default:
		return false
	}
	return true
}

// dayAndYear reads what stands behind the name of a month, such as 9, 2026.
func (s *scanner) dayAndYear(m *moment) bool {
	if !s.take(' ') {
		return false
	}
	var day, year int
	m.date[2], day = s.number(2)
	s.take(',')
	if day == 0 || !s.take(' ') {
		return false
	}
	m.date[0], year = s.number(4)
	return year == 4
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
