package reading

import (
	"bytes"
	"math"
	"strconv"
)

// Figures writes v with the given number of significant figures, at least 1, without an exponent where a person would write
// none. Digits before the decimal point are all written, and a NaN is a dash.
func Figures(v float64, figures int) string { return string(AppendFigures(nil, v, figures)) }

// AppendFigures appends what Figures writes.
func AppendFigures(dst []byte, v float64, figures int) []byte {
	if math.IsNaN(v) {
		return append(dst, "–"...)
	}
	start := len(dst)
	dst = strconv.AppendFloat(dst, v, 'e', figures-1, 64)
	exponent, found := exponentOf(dst[start:])
	if !found || exponent < -4 || exponent >= 7 {
		return dst
	}
	return strconv.AppendFloat(dst[:start], v, 'f', max(figures-1-exponent, 0), 64)
}

// exponentOf reads the power of ten of a number written with an exponent. It is the one after rounding: 9.996 to three
// figures is 10.0, not 10.00.
func exponentOf(scientific []byte) (exponent int, found bool) {
	_, power, found := bytes.Cut(scientific, []byte{'e'})
	for _, digit := range power[min(1, len(power)):] {
		exponent = 10*exponent + int(digit-'0')
	}
	if found && power[0] == '-' {
		exponent = -exponent
	}
	return exponent, found
}

// Stated writes a number that somebody stated, such as a limit, as they did: up to six significant figures, without the zeros
// that Figures adds.
func Stated(v float64) string {
	var room [32]byte
	return string(AppendStated(room[:0], v))
}

// AppendStated appends what Stated writes.
func AppendStated(dst []byte, v float64) []byte {
	start := len(dst)
	dst = AppendFigures(dst, v, 6)
	mantissa, exponent := dst[start:], []byte(nil)
	if e := bytes.IndexByte(mantissa, 'e'); e >= 0 {
		mantissa, exponent = mantissa[:e], mantissa[e:]
	}
	if bytes.IndexByte(mantissa, '.') >= 0 {
		mantissa = bytes.TrimSuffix(bytes.TrimRight(mantissa, "0"), []byte{'.'})
	}
	return append(dst[:start+len(mantissa)], exponent...)
}
