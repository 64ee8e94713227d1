package fit

// PlotPoint is one point of a log-probability plot.
type PlotPoint struct {
	// Reading is the reading, or the bound of a censored one.
	Reading float64
	// NormalScore is the standard normal quantile of its plotting position.
	NormalScore float64
	Censored    bool
}

// ProbabilityPlot returns the points of a log-probability plot, ascending.
func ProbabilityPlot(f *Fit) []PlotPoint {
	points := make([]PlotPoint, f.N)
	for i, score := range NormalScores(f.N) {
		points[i] = PlotPoint{Reading: f.Values[i], NormalScore: score}
	}
	return points
}
