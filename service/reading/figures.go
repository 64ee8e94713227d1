package reading

import (
	"math"
	"strconv"
	"strings"
)

// Figures writes v with the given number of significant figures, at least 1, without an exponent where a person would write
// none. Digits before the decimal point are all written, and a NaN is a dash.
func Figures(v float64, figures int) string {
	if math.IsNaN(v) {
		return "–"
	}
	scientific := strconv.FormatFloat(v, 'e', figures-1, 64)
	// The exponent after rounding: 9.996 to three figures is 10.0, not 10.00.
	_, power, found := strings.Cut(scientific, "e")
	exponent, err := strconv.Atoi(power)
	if !found || err != nil || exponent < -4 || exponent >= 7 {
		return scientific
	}
	return strconv.FormatFloat(v, 'f', max(figures-1-exponent, 0), 64)
}
