package fit

import (
	"sync"
	"sync/atomic"

	"example.com/tailbound/service/numeric"
)

const (
	// knownSizes bounds the group sizes that Factors keeps, at some 2 kB each, 8 kB where curves were asked for.
	knownSizes = 1024
	// knownFactors bounds the factors kept for one size.
	knownFactors = 256
)

// Factors keeps what depends on the number of readings and the confidence asked for, but not on the readings: the same for
// every group of that size. It is safe for concurrent use, its zero value is ready, and it holds some megabytes at the most.
// What it hands out is what would be computed anew, bit for bit.
type Factors struct {
	sizes sync.Map // int to *size
	count atomic.Int32
}

// size is what is known of one number of readings.
type size struct {
	rule numeric.ChiRule
	// percentiles are factors k of mean + k s by score and level, spreads those of s by level.
	percentiles, spreads known
}

func newSize(n int) *size { return &size{rule: numeric.NewChiRule(float64(n - 1))} }

// of returns the entry of n readings. A nil receiver knows nothing.
func (f *Factors) of(n int) *size {
	if f == nil {
		return newSize(n)
	}
	if s, ok := f.sizes.Load(n); ok {
		return s.(*size) //nolint:forcetypeassert // Only this function stores, and only sizes.
	}
	s := newSize(n)
	if f.count.Add(1) <= knownSizes {
		f.sizes.Store(n, s)
	}
	return s
}

// known is a short list of answers that is read without a lock and replaced when it grows.
type known struct {
	list atomic.Pointer[[]answer]
}

// get returns the answer at (z, at), from the list or by compute.
func (k *known) get(z, at float64, compute func() float64) float64 {
	old := k.list.Load()
	if old != nil {
		if v, ok := recall(*old, z, at); ok {
			return v
		}
	}
	v := compute()
	var longer []answer
	if old != nil {
		longer = append(longer, *old...)
	}
	if len(longer) < knownFactors {
		longer = append(longer, answer{z, at, v})
		// Losing a race costs one more computation of the same bits.
		k.list.CompareAndSwap(old, &longer)
	}
	return v
}
