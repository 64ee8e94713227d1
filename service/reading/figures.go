package reading

import (
	"bytes"
	"math"
	"strconv"
)

// Figures writes v with the given number of significant figures, at least 1, without an exponent where a person would write
// none. Digits before the decimal point are all written, and a NaN is a dash.
func Figures(v float64, figures int) string {
	var room [32]byte
	return string(AppendFigures(room[:0], v, figures))
}

// AppendFigures appends what Figures writes.
func AppendFigures(dst []byte, v float64, figures int) []byte {
	if math.IsNaN(v) {
		return append(dst, "–"...)
	}
	start := len(dst)
	dst = strconv.AppendFloat(dst, v, 'e', figures-1, 64)
	// The exponent after rounding: 9.996 to three figures is 10.0, not 10.00.
	mark := bytes.IndexByte(dst[start:], 'e')
	if mark < 0 {
		return dst
	}
	exponent := 0
	for _, digit := range dst[start+mark+2:] {
		exponent = 10*exponent + int(digit-'0')
	}
	if dst[start+mark+1] == '-' {
		exponent = -exponent
	}
	if exponent < -4 || exponent >= 7 {
		return dst
	}
	return strconv.AppendFloat(dst[:start], v, 'f', max(figures-1-exponent, 0), 64)
}
