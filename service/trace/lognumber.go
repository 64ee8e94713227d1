package trace

import (
	"math"
	"strconv"
	"time"
)

// parseNumber reads a decimal number. Up to 15 digits and 22 places behind the point are exact in one division, which is several
// times as fast as what takes every number.
func parseNumber(cell []byte) (float64, bool) {
	const mostDigits = 15
	whole, digits, places, pointed, i := uint64(0), 0, 0, false, 0
	negative := cell[0] == '-'
	if negative || cell[0] == '+' {
		i++
	}
	for ; i < len(cell); i++ {
		c := cell[i]
		switch {
		case c >= '0' && c <= '9':
			whole = 10*whole + uint64(c-'0')
			digits++
			if pointed {
				places++
			}
		case c == '.' && !pointed:
			pointed = true
		default:
			return parseSlowly(cell)
		}
		if digits > mostDigits {
			return parseSlowly(cell)
		}
	}
	if digits == 0 {
		return 0, false
	}
	v := float64(whole) / powerOfTen(places)
	if negative {
		v = -v
	}
	return v, true
}

func powerOfTen(n int) float64 {
	powers := [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}
	return powers[n]
}

func parseSlowly(cell []byte) (float64, bool) {
	for _, c := range cell {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(cell), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// ParseTime reads a time as a log has it, and says whether it is one.
func ParseTime(text string) (time.Time, bool) { return parseTime([]byte(text)) }

// parseTime reads a time; without a zone it is taken as UTC.
func parseTime(cell []byte) (time.Time, bool) {
	if t, ok := parseFixed(cell); ok {
		return t, true
	}
	for _, layout := range [...]string{time.RFC3339, "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04:05", time.DateTime, "2006-01-02T15:04", "2006-01-02 15:04"} {
		if t, err := time.Parse(layout, string(cell)); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// parseFixed reads the form 2026-03-09T07:30:00, the T or a space, without going through layouts.
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
	t := time.Date(parts[0], time.Month(parts[1]), parts[2], parts[3], parts[4], parts[5], 0, time.UTC)
	// A day or an hour that does not exist is carried over by Date: it is no time.
	exists := t.Month() == time.Month(parts[1]) && t.Day() == parts[2] && t.Hour() == parts[3] && parts[4] < 60 && parts[5] < 60
	return t, exists
}
