package document

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"example.com/tailbound/service/reading"
)

// figures is the number of significant figures of what was computed.
const figures = 3

// computed writes a number that was computed.
func computed(v float64) string { return reading.Figures(v, figures) }

// entered writes a number with every digit that it was entered with, without an exponent where a person would write none.
func entered(v float64) string {
	format := byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e9) {
		format = 'g'
	}
	return strconv.FormatFloat(v, format, -1, 64)
}

// withUnit puts a unit behind a number, not to be parted from it.
func withUnit(number string, unit reading.Unit) string {
	if unit == "" {
		return number
	}
	return number + "\u00a0" + string(unit)
}

// plain is a text of which no character steers a terminal or the direction of the text around it: a name must not rearrange the
// words beside it.
func plain(s string) string { return strings.Map(tame, s) }

func tame(r rune) rune {
	switch {
	case r == '\n':
		return r
	case unicode.IsControl(r):
		return ' '
	case unicode.Is(unicode.Bidi_Control, r):
		return -1
	}
	return r
}

// result writes a reading as it was entered.
func (w *words) result(r *reading.Reading) string {
	switch r.Kind {
	case reading.Below:
		return fill(w.ReadingBelow, "v", entered(r.Upper))
	case reading.Above:
		return fill(w.ReadingAbove, "v", entered(r.Lower))
	case reading.Between:
		return fill(w.ReadingBetween, "lower", entered(r.Lower), "upper", entered(r.Upper))
	default:
		return entered(r.Lower)
	}
}
