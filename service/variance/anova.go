package variance

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// Source is a line of the table of an analysis of variance of ln reading.
type Source struct {
	// Freedom is the degrees of freedom, Squares the sum of squares, MeanSquare their quotient.
	Freedom, Squares, MeanSquare float64
}

// Anova is the analysis of variance of ln reading, a classical answer beside that of the likelihood.
type Anova struct {
	Between, Within Source
	// Size is the number of readings of a zone, n0 = (N - sum n²/N)/(k-1) when they differ.
	Size float64
	// BetweenVariance is (MS between - MS within)/n0, which may be negative.
	BetweenVariance float64
	// SigmaBetween and SigmaWithin are the roots of the variances, a negative one taken as 0.
	SigmaBetween, SigmaWithin float64
}

// FTest is the test of no difference between the zones.
type FTest struct {
	// Statistic is MS between over MS within, with the degrees of freedom of both.
	Statistic, Between, Within float64
	// PValue is the probability of a statistic at least as large if the zones did not differ.
	PValue float64
	// Exact says that every reading has a value. Otherwise the test is that of readings with values that would say as much, and NaN
	// when they would be too few.
	Exact bool
}

// test is the F test of a layout, NaN when the layout says too little.
func (l *layout) test() FTest {
	if !l.telling() {
		nothing := math.NaN()
		return FTest{Statistic: nothing, Between: nothing, Within: nothing, PValue: nothing}
	}
	f := l.at(0).squares / l.between / (l.squares / l.within)
	return FTest{Statistic: f, Between: l.between, Within: l.within, PValue: numeric.FSurvival(l.between, l.within, f)}
}

// anova is the analysis of variance of a layout of readings that all have a value.
func (l *layout) anova() Anova {
	source := func(freedom, squares float64) Source { return Source{freedom, squares, squares / freedom} }
	a := Anova{Between: source(l.between, l.at(0).squares), Within: source(l.within, l.squares)}
	readings, squares := 0.0, 0.0
	for _, c := range l.classes {
		readings += c.count * c.n
		squares += c.count * c.n * c.n
	}
	a.Size = (readings - squares/readings) / l.between
	a.BetweenVariance = (a.Between.MeanSquare - a.Within.MeanSquare) / a.Size
	a.SigmaBetween = math.Sqrt(max(a.BetweenVariance, 0))
	a.SigmaWithin = math.Sqrt(a.Within.MeanSquare)
	return a
}
