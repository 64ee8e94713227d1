package comparison

import (
	"math"
	"slices"
	"time"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// Trend is the change of the geometric mean from one campaign, or one year, to the next, by a straight line of ln reading through all
// campaigns with one spread.
type Trend struct {
	// Ratio is that of the geometric means one step apart.
	Ratio limit.Bounds
	// PerYear says that a step is a year, as every reading has a start; else it is from one campaign to the next.
	PerYear bool
	// Test is that of no trend.
	Test Test
}

// trend is nil when the readings do not determine it.
func trend(campaigns []Campaign, o Options) *Trend {
	groups := make([][]reading.Reading, len(campaigns))
	design := make([][]float64, len(campaigns))
	times, perYear := years(campaigns)
	for i := range campaigns {
		groups[i], design[i] = campaigns[i].Readings, []float64{1, times[i]}
	}
	r, err := likelihood.Regress(groups, design)
	if err != nil {
		return nil
	}
	out := &Trend{PerYear: perYear}
	out.Ratio, out.Test = slope(&r, 1, o.Confidence)
	out.Test.Name = "Student's t of the slope of ln reading"
	return out
}

// years are the mean times of the campaigns, from the first of them, when every reading has a start and they differ; else the
// campaigns are counted.
func years(campaigns []Campaign) (times []float64, perYear bool) {
	// In seconds.
	const year = 365.25 * 86400
	times = make([]float64, len(campaigns))
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	dated := true
	for i := range campaigns {
		starts := make([]float64, len(campaigns[i].Readings))
		for j, r := range campaigns[i].Readings {
			dated = dated && !r.Start.IsZero()
			starts[j] = float64(r.Start.Unix()-epoch.Unix()) / year
		}
		times[i] = average(starts)
	}
	// A campaign apart from another by less than a week says nothing of a year.
	const week = 1.0 / 52
	if dated && slices.Max(times)-slices.Min(times) > week {
		first := slices.Min(times)
		for i := range times {
			times[i] -= first
		}
		return times, true
	}
	for i := range times {
		times[i] = float64(i)
	}
	return times, false
}

// holm corrects the p-values of all pairs for their number, so that the chance of any false difference stays that of one (Holm 1979,
// Scandinavian Journal of Statistics 6, 65; from memory).
func holm(pairs []Pair) {
	order := make([]int, 0, len(pairs))
	for i := range pairs {
		if !math.IsNaN(pairs[i].Means.PValue) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch p, q := pairs[i].Means.PValue, pairs[j].Means.PValue; {
		case p < q:
			return -1
		case p > q:
			return 1
		}
		return 0
	})
	worst := 0.0
	for k, i := range order {
		worst = max(worst, min(pairs[i].Means.PValue*float64(len(order)-k), 1))
		pairs[i].PAdjusted = worst
	}
}
