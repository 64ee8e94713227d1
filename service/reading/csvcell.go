package reading

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
)

const acceptedResults = "accepted are a value (0.12), below a reporting limit (<0.05), above the range (>50) and between two " +
	"bounds (0.05..0.12)"

var (
	errNotANumber = errors.New("is not a number")
	errComma      = errors.New("has a comma; a number is written with a decimal point and without thousands separators")
	errTooLarge   = errors.New("is too large to be represented")
)

// ParseResult reads a result as people write it: 0.12, <0.05 (below the reporting limit), >50 (above the range) or
// 0.05..0.12 (between two bounds), each number greater than 0. The unit stands elsewhere. The fault names no field.
func ParseResult(s string) (Reading, error) {
	text := strings.TrimSpace(s)
	if text == "" {
		return Reading{}, fault.Invalid("", "is empty; %s", acceptedResults)
	}
	r, err := splitResult(text)
	if errors.Is(err, errNotANumber) || strings.Contains(text, "...") {
		return Reading{}, fault.Invalid("", "%q is not a result; %s", text, acceptedResults)
	}
	if err != nil {
		return Reading{}, fault.Invalid("", "%q %v", text, err)
	}
	if err := r.Check(); err != nil {
		return Reading{}, fault.Invalid("", "%q: %s", text, wordsOf(err))
	}
	return r, nil
}

func splitResult(text string) (r Reading, err error) {
	low, high, between := strings.Cut(text, "..")
	switch {
	case text[0] == '<':
		r.Kind = Below
		r.Upper, err = number(text[1:])
	case text[0] == '>':
		r.Kind, r.Upper = Above, math.Inf(1)
		r.Lower, err = number(text[1:])
	case between:
		r.Kind = Between
		if r.Lower, err = number(low); err == nil {
			r.Upper, err = number(high)
		}
	default:
		r.Lower, err = number(text)
		r.Upper = r.Lower
	}
	return r, err
}

// wordsOf says in words which part of a result is wrong.
func wordsOf(err error) string {
	var f *fault.Error
	if !errors.As(err, &f) || len(f.Violations) == 0 {
		return err.Error()
	}
	text := f.Violations[0].Text
	switch f.Violations[0].Field {
	case "below":
		return "the reporting limit " + text
	case "above":
		return "the top of the range " + text
	case "between.lower":
		return "the lower bound " + text
	case "between.upper":
		return "the upper bound " + text
	default:
		return text
	}
}

// ParseLimit reads a limit with its unit, such as 0.5mg/m3 or "0.5 mg/m3". The unit is empty when none is written. The fault
// names no field.
func ParseLimit(s string) (Limit, error) {
	text := strings.TrimSpace(s)
	if text == "" {
		return Limit{}, fault.Invalid("", "is empty; accepted is a number with its unit, such as 0.5mg/m3")
	}
	end := numberEnd(text)
	v, err := number(text[:end])
	switch {
	case errors.Is(err, errNotANumber):
		return Limit{}, fault.Invalid("", "%q is not a limit; accepted is a number with its unit, such as 0.5mg/m3", text)
	case err != nil:
		return Limit{}, fault.Invalid("", "%q %v", text, err)
	}
	if err := positive("", v); err != nil {
		return Limit{}, fault.Invalid("", "%q: the limit %s", text, wordsOf(err))
	}
	return Limit{Value: v, Unit: Unit(strings.TrimSpace(text[end:]))}, nil
}

// numberEnd is where the number at the start of text ends and its unit begins.
func numberEnd(text string) int {
	end := 0
	for end < len(text) && strings.IndexByte("0123456789.,+-", text[end]) >= 0 {
		end++
	}
	exponent := end
	if exponent < len(text) && (text[exponent] == 'e' || text[exponent] == 'E') {
		exponent++
		if exponent < len(text) && (text[exponent] == '+' || text[exponent] == '-') {
			exponent++
		}
		digits := exponent
		for exponent < len(text) && text[exponent] >= '0' && text[exponent] <= '9' {
			exponent++
		}
		if exponent > digits {
			return exponent
		}
	}
	return end
}

// number reads a decimal number as a person writes one: no hexadecimal, no infinity, no separators.
func number(s string) (float64, error) {
	text := strings.TrimSpace(s)
	if strings.Contains(text, ",") && strings.Trim(text, "0123456789.,") == "" {
		return 0, errComma
	}
	if strings.Trim(text, "0123456789.eE+-") != "" {
		return 0, errNotANumber
	}
	v, err := strconv.ParseFloat(text, 64)
	if errors.Is(err, strconv.ErrRange) {
		return 0, errTooLarge
	}
	if err != nil {
		return 0, errNotANumber
	}
	return v, nil
}

// parseStart reads the start of an averaging period; a time without a zone is taken as UTC.
func parseStart(text string) (time.Time, error) {
	const minute = "2006-01-02 15:04"
	layout, local := time.RFC3339, strings.Replace(text, "T", " ", 1)
	switch len(text) {
	case len(time.DateOnly):
		layout = time.DateOnly
	case len(minute):
		layout, text = minute, local
	case len(time.DateTime):
		layout, text = time.DateTime, local
	}
	t, err := time.Parse(layout, text)
	if err != nil {
		return time.Time{}, fault.Invalid("", "%q is not a time; accepted are 2026-03-09, 2026-03-09 07:30 and 2026-03-09T07:30:00+01:00", text)
	}
	return t, nil
}

// parseMinutes reads the length of an averaging period.
func parseMinutes(text string) (time.Duration, error) {
	v, err := number(text)
	if errors.Is(err, errComma) {
		return 0, fault.Invalid("", "%q %v", text, err)
	}
	// The largest duration is 2^63 nanoseconds.
	nanoseconds := v * float64(time.Minute)
	if err != nil || !(nanoseconds >= 1) || nanoseconds >= 0x1p63 {
		return 0, fault.Invalid("", "%q is not a length of time; accepted is a number of minutes greater than 0", text)
	}
	return time.Duration(math.Round(nanoseconds)), nil
}
