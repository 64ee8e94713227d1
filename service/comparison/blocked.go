package comparison

import (
	"math"
	"slices"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Within is the change within zones that both campaigns visited: each zone has a mean of its own, so that what differs between zones is
// taken out.
type Within struct {
	// Ratio is that of the geometric means, the same for every zone.
	Ratio limit.Bounds
	// Test is that of no change.
	Test Test
	// Zones are the changes of single zones, in order of their names.
	Zones []ZoneChange
}

// ZoneChange is the change of one zone.
type ZoneChange struct {
	Zone  string
	Ratio limit.Bounds
	// OtherWay says that the estimate goes the other way than that of all zones.
	OtherWay bool
}

// mostBlocks bounds the zones, whose number a solve goes with the cube of.
const mostBlocks = 30

// block is a zone in both campaigns.
type block struct {
	zone        string
	from, later []reading.Reading
}

// blocks are the zones of both, in order of their names.
func blocks(a, b []reading.Reading) []block {
	at := map[string]*block{}
	of := func(zone string) *block {
		if at[zone] == nil {
			at[zone] = &block{zone: zone}
		}
		return at[zone]
	}
	for _, r := range a {
		of(r.Zone).from = append(of(r.Zone).from, r)
	}
	for _, r := range b {
		of(r.Zone).later = append(of(r.Zone).later, r)
	}
	var names []string
	for zone, z := range at {
		if zone != "" && len(z.from) > 0 && len(z.later) > 0 {
			names = append(names, zone)
		}
	}
	slices.Sort(names)
	out := make([]block, len(names))
	for i, zone := range names {
		out[i] = *at[zone]
	}
	return out
}

// within is nil with fewer than two zones in common, with more than mostBlocks, or when the readings do not determine it.
func within(a, b []reading.Reading, o Options) *Within {
	common := blocks(a, b)
	if len(common) < 2 || len(common) > mostBlocks {
		return nil
	}
	groups := make([][]reading.Reading, 0, 2*len(common))
	var design [][]float64
	for i, z := range common {
		groups = append(groups, z.from, z.later)
		for _, later := range []float64{0, 1} {
			// The first zone is the intercept, the change comes last.
			row := make([]float64, len(common)+1)
			row[0], row[i], row[len(common)] = 1, 1, later
			design = append(design, row)
		}
	}
	r, err := likelihood.Regress(groups, design)
	if err != nil {
		return nil
	}
	w := &Within{}
	w.Ratio, w.Test = slope(&r, len(common), o.Confidence)
	w.Test.Name = "Student's t of the change within zones"
	w.zones(common, &r, o)
	return w
}

// slope is the ratio that a coefficient is the logarithm of, with the limits of Student's t. The spread has been estimated along with
// the coefficients: with every reading detected this is least squares, else the readings count as many as would tell as much of the
// spread.
func slope(r *likelihood.Regression, at int, confidence float64) (limit.Bounds, Test) {
	size := float64(len(r.Coefficients))
	freedom := max(r.Worth()-size, 0.5)
	c, se := r.Coefficients[at], r.Errors[at]*math.Sqrt((freedom+size)/freedom)
	freedom = max(freedom, 1)
	margin := numeric.StudentTQuantile(freedom, confidence) * se
	return exponential(limit.Bounds{Estimate: c, Lower: c - margin, Upper: c + margin}), Test{
		Statistic: c / se, Freedom: []float64{freedom}, PValue: min(2*numeric.StudentTSurvival(freedom, math.Abs(c/se)), 1),
	}
}

// zones fills the change of each zone: the ratio of its own geometric means, with the spread common to all zones.
func (w *Within) zones(common []block, r *likelihood.Regression, o Options) {
	size := float64(len(r.Coefficients))
	freedom := max(r.Worth()-size, 0.5)
	sigma := r.Sigma * math.Sqrt((freedom+size)/freedom)
	t := numeric.StudentTQuantile(max(freedom, 1), o.Confidence)
	for _, z := range common {
		change := ZoneChange{Zone: z.zone, Ratio: unknown()}
		from, errorFrom := middle(z.from)
		later, errorLater := middle(z.later)
		if d := later - from; !math.IsNaN(d) {
			margin := t * sigma * math.Hypot(errorFrom, errorLater)
			change.Ratio = exponential(limit.Bounds{Estimate: d, Lower: d - margin, Upper: d + margin})
			change.OtherWay = (d < 0) != (w.Ratio.Estimate < 1)
		}
		w.Zones = append(w.Zones, change)
	}
}

// average is the mean, the same bits whatever the order. It sorts its argument.
func average(x []float64) float64 {
	slices.Sort(x)
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// middle is the mean of ln reading and its standard error at a spread of 1; NaN unless every reading has a value.
func middle(readings []reading.Reading) (mean, deviation float64) {
	logs := make([]float64, len(readings))
	for i, r := range readings {
		if r.Kind != reading.Detected {
			return math.NaN(), math.NaN()
		}
		logs[i] = math.Log(r.Lower)
	}
	return average(logs), 1 / math.Sqrt(float64(len(readings)))
}
