package reading

import (
	"math"
	"strconv"
)

// Figures writes v with the given number of significant figures, without an exponent where a person would write none.
func Figures(v float64, figures int) string {
	size := math.Abs(v)
	if size != 0 && (size < 1e-4 || size >= 1e7) {
		return strconv.FormatFloat(v, 'e', figures-1, 64)
	}
	decimals := figures - 1
	if size != 0 {
		decimals -= int(math.Floor(math.Log10(size)))
	}
	return strconv.FormatFloat(v, 'f', max(decimals, 0), 64)
}
