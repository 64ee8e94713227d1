package likelihood

import (
	"math"
	"slices"
)

// onScale reduces readings that are normal themselves, so that examples on the scale of the readings can be checked: the
// numbers stand where NewData puts their logs.
func onScale(values []float64, below, above []Bound, between []Band) Data {
	var d Data
	sorted := slices.Sorted(slices.Values(values))
	d.Describe(sorted, 1)
	d.Below, d.Above, d.Between = mergeBounds(below), mergeBounds(above), mergeBands(between)
	return d
}

// relativeError is the relative difference, absolute where the reference is 0.
func relativeError(got, want float64) float64 {
	if want == 0 {
		return math.Abs(got)
	}
	return math.Abs(got/want - 1)
}
