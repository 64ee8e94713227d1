// Package check asks whether a group can be a lognormal: the test of the logs, the log-probability plot with its correlation where
// readings are censored, and hints of what looks odd.
package check

import "example.com/tailbound/service/reading"

// PlotPoint is one point of a log-probability plot.
type PlotPoint struct {
	// Reading is the reading, or the bound of a censored one.
	Reading float64
	// NormalScore is the standard normal quantile of its plotting position.
	NormalScore float64
	// Censored says that Reading is a bound.
	Censored bool
	// Kind says of which kind, and Lower and Upper are the bounds, as those of a reading.
	Kind         reading.Kind
	Lower, Upper float64
}

// ProbabilityPlot returns the points of the log-probability plot of readings that all have a value, given ascending.
func ProbabilityPlot(values []float64) []PlotPoint {
	points := make([]PlotPoint, len(values))
	for i, score := range NormalScores(len(values)) {
		points[i] = PlotPoint{Reading: values[i], NormalScore: score, Lower: values[i], Upper: values[i]}
	}
	return points
}
