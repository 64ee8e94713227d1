package planning

import (
	"math"

	"example.com/tailbound/service/fault"
)

// HighestSource is the publication of the question that Highest answers.
const HighestSource = "NIOSH 77-173, Occupational Exposure Sampling Strategy Manual (1977), technical appendix A (from memory)"

// Highest says how many people of a group to sample, drawn at random, so that at least one of the highest exposed is among
// them.
type Highest struct {
	// Samples is the smallest number that truly reaches the confidence.
	Samples int
	// Among is the number of people counted as the highest exposed; 0 in a group without a stated size.
	Among int
	// Chance is the chance that Samples people include at least one of them, at least the confidence.
	Chance float64
}

// MaxGroup is the largest stated group size.
const MaxGroup = 1_000_000

// smallestFraction is the smallest part of a group that can be asked for.
const smallestFraction = 1.0 / MaxGroup

// SampleHighest answers for a group of the given size, 1 to MaxGroup, or for one so large that its size does not matter when
// size is 0; fraction is the part of the group that counts as highest exposed, from a millionth to below 1, and confidence the
// wanted chance, between 0 and 1. Drawing n of N people without replacement misses all of the m highest with probability
//
//	C(N-m, n) / C(N, n),
//
// and (1-fraction)^n when N is unlimited. m is the whole number of people in the fraction, rounded down but at least 1, so
// that nobody counts as highest who is not. The printed table of the manual (from memory) puts N·fraction into gamma
// functions and rounds n to the nearest, by which the true chance can fall short: 0.8895 in place of 0.90 for 13 of 20.
func SampleHighest(size int, fraction, confidence float64) (Highest, error) {
	switch {
	case size < 0 || size > MaxGroup:
		return Highest{}, fault.Invalid("groupSize", "got %d, want 1 to %d, or none for a group without limit", size, MaxGroup)
	case !(fraction >= smallestFraction && fraction < 1):
		return Highest{}, fault.Invalid("fraction", "got %v, want a number from %v to below 1", fraction, smallestFraction)
	case !(confidence > 0 && confidence < 1):
		return Highest{}, fault.Invalid("confidence", "got %v, want a number between 0 and 1", confidence)
	}
	// A chance that equals the confidence, as 0.9 for 9 of 10 does, must not miss it by a rounding.
	const slack = 1e-12
	allowed := (1 - confidence) * (1 + slack)
	if size == 0 {
		return sampleUnlimited(fraction, allowed), nil
	}
	among := max(1, int(math.Floor(float64(size)*fraction*(1+slack))))
	missed := 1.0
	for n := 1; n <= size; n++ {
		missed *= math.Max(0, float64(size-among-n+1)) / float64(size-n+1)
		if missed <= allowed {
			return Highest{Samples: n, Among: among, Chance: 1 - missed}, nil
		}
	}
	return Highest{Samples: size, Among: among, Chance: 1}, nil
}

// sampleUnlimited starts just below the real solution and steps to the first whole number that reaches.
func sampleUnlimited(fraction, allowed float64) Highest {
	step := math.Log1p(-fraction)
	n := max(1, math.Floor(math.Log(allowed)/step)-1)
	for math.Exp(n*step) > allowed {
		n++
	}
	return Highest{Samples: int(min(n, math.MaxInt32)), Chance: -math.Expm1(n * step)}
}
