package check

import "example.com/tailbound/service/numeric"

// NormalScores returns the n normal scores of a probability plot of uncensored readings, in ascending order: the standard
// normal quantile of Blom's plotting position (i - 3/8)/(n + 1/4) for i = 1..n, which is close to the expected order
// statistic of a normal sample. It returns an empty slice when n < 1.
//
// Source: Blom (1958), Statistical Estimates and Transformed Beta-Variables.
func NormalScores(n int) []float64 {
	if n < 1 {
		return []float64{}
	}
	return AppendNormalScores(make([]float64, 0, n), n)
}

// AppendNormalScores appends the n scores of NormalScores to dst and returns the extended slice. It allocates only when
// dst lacks the room.
func AppendNormalScores(dst []float64, n int) []float64 {
	for i := 1; i <= n; i++ {
		// The upper half mirrors the lower one, so that the scores of a symmetric sample are symmetric to the last bit.
		if mirror := n + 1 - i; mirror < i {
			dst = append(dst, -blomScore(mirror, n))
			continue
		}
		dst = append(dst, blomScore(i, n))
	}
	return dst
}

// blomScore returns the normal score of rank i of n. The middle rank of an odd sample is exactly zero.
func blomScore(i, n int) float64 {
	if 2*i == n+1 {
		return 0
	}
	return numeric.NormalQuantile((float64(i) - 0.375) / (float64(n) + 0.25))
}
