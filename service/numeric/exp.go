package numeric

import "math"

// expWeight returns e^x for x <= 700, to about one unit in the last place, and
// zero below -708 instead of a subnormal number.
//
// The tail integral and the chi rule spend most of their time in exponentials.
// math.Exp works through one long chain of dependent operations; here the
// polynomial is split into four interleaved ones that the processor runs side by
// side, which makes a term of those sums about a third cheaper.
func expWeight(x float64) float64 {
	if !(x >= -708) {
		return 0 * x // NaN stays NaN, and -Inf becomes it: callers pass finite x.
	}
	const (
		// Adding 1.5·2^52 rounds to the nearest integer and leaves that integer in
		// the low bits.
		round = 3 << 51
		// ln 2 in two parts; n·ln2Hi is exact for |n| < 2^11.
		ln2Hi = 6.93147180369123816490e-01
		ln2Lo = 1.90821492927058770002e-10
	)
	k := x*math.Log2E + round
	n := k - round
	r := (x - n*ln2Hi) - n*ln2Lo
	r2 := r * r
	r4 := r2 * r2
	a := 1.0/2 + r4*(1.0/720+r4*(1.0/3628800))
	b := 1.0/6 + r4*(1.0/5040+r4*(1.0/39916800))
	c := 1.0/24 + r4*(1.0/40320+r4*(1.0/479001600))
	d := 1.0/120 + r4*(1.0/362880+r4*(1.0/6227020800))
	p := 1 + (r + r2*((a+r*b)+r2*(c+r*d)))
	return p * math.Float64frombits(math.Float64bits(k)<<52+1023<<52)
}
