package reading

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

const acceptedResults = "accepted are a value (0.12), below a reporting limit (<0.05), above the range (>50) and between two " +
	"bounds (0.05..0.12)"

var (
	errNotANumber = errors.New("is not a number")
	errComma      = errors.New("has a comma; a number is written with a decimal point and without thousands separators")
	errPoint      = errors.New("has a point; the numbers of this file have a decimal comma and no thousands separators")
	errTooLarge   = errors.New("is too large to be represented")
)

// ParseResult reads a result as people write it: 0.12, <0.05 (below the reporting limit), >50 (above the range) or
// 0.05..0.12 (between two bounds), each number greater than 0. The unit stands elsewhere. The fault names no field.
func ParseResult(s string) (Reading, error) { return parseResult(s, '.') }

// parseResult reads a result with the decimal mark of its file.
func parseResult(s string, mark byte) (Reading, error) {
	text := strings.TrimSpace(s)
	if text == "" {
		return Reading{}, fault.Invalid("", "is empty; %s", acceptedResults)
	}
	r, err := splitResult(text, mark)
	if errors.Is(err, errNotANumber) || strings.Contains(text, "...") {
		return Reading{}, fault.Invalid("", "%s is not a result; %s", table.Quote(text), acceptedResults)
	}
	if err != nil {
		return Reading{}, fault.Invalid("", "%s %v", table.Quote(text), err)
	}
	if err := r.Check(); err != nil {
		return Reading{}, fault.Invalid("", "%s: %s", table.Quote(text), wordsOf(err))
	}
	return r, nil
}

func splitResult(text string, mark byte) (r Reading, err error) {
	low, high, between := strings.Cut(text, "..")
	switch {
	case text[0] == '<':
		r.Kind = Below
		r.Upper, err = number(text[1:], mark)
	case text[0] == '>':
		r.Kind, r.Upper = Above, math.Inf(1)
		r.Lower, err = number(text[1:], mark)
	case between:
		r.Kind = Between
		if r.Lower, err = number(low, mark); err == nil {
			r.Upper, err = number(high, mark)
		}
	default:
		r.Lower, err = number(text, mark)
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
func ParseLimit(s string) (Limit, error) { return parseLimit(s, '.') }

// parseLimit reads a limit with the decimal mark of its file.
func parseLimit(s string, mark byte) (Limit, error) {
	text := strings.TrimSpace(s)
	if text == "" {
		return Limit{}, fault.Invalid("", "is empty; accepted is a number with its unit, such as 0.5mg/m3")
	}
	end := numberEnd(text)
	v, err := number(text[:end], mark)
	switch {
	case errors.Is(err, errNotANumber):
		return Limit{}, fault.Invalid("", "%s is not a limit; accepted is a number with its unit, such as 0.5mg/m3", table.Quote(text))
	case err != nil:
		return Limit{}, fault.Invalid("", "%s %v", table.Quote(text), err)
	}
	if err := positive("", v); err != nil {
		return Limit{}, fault.Invalid("", "%s: the limit %s", table.Quote(text), wordsOf(err))
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
func number(s string, mark byte) (float64, error) {
	text := strings.TrimSpace(s)
	if digits := strings.Trim(text, "0123456789.,") == ""; digits && mark == '.' && strings.Contains(text, ",") {
		return 0, errComma
	} else if digits && mark == ',' && strings.Contains(text, ".") {
		return 0, errPoint
	}
	if strings.Trim(text, "0123456789eE+-"+string(rune(mark))) != "" {
		return 0, errNotANumber
	}
	if mark == ',' {
		text = strings.ReplaceAll(text, ",", ".")
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

// parseMinutes reads the length of an averaging period.
func parseMinutes(text string, mark byte) (time.Duration, error) {
	v, err := number(text, mark)
	if errors.Is(err, errComma) || errors.Is(err, errPoint) {
		return 0, fault.Invalid("", "%s %v", table.Quote(text), err)
	}
	// The largest duration is 2^63 nanoseconds.
	nanoseconds := v * float64(time.Minute)
	if err != nil || !(nanoseconds >= 1) || nanoseconds >= 0x1p63 {
		return 0, fault.Invalid("", "%s is not a length of time; accepted is a number of minutes greater than 0", table.Quote(text))
	}
	return time.Duration(math.Round(nanoseconds)), nil
}
