package check

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
)

const (
	// longestSerial is the length up to which readings are looked at: half a shift. Longer ones are of different shifts.
	longestSerial = 4 * time.Hour
	// fewestPairs is the number of pairs from which a correlation says anything.
	fewestPairs = 5
	// dependentScore is the 99th percentile of the standard normal distribution.
	dependentScore = 2.326
)

// Dependence is what readings that follow one another within a shift tell of each other.
type Dependence struct {
	// Pairs is how many readings begin where another one of the same zone and subject ends, both with a value or between bounds above 0.
	Pairs int
	// Unvalued is how many such pairs hold a reading that is open below or above, and are left out.
	Unvalued int
	// Correlation is that of the logarithm of each reading with that of the next, -1 to 1; NaN with fewer than 5 pairs, or when
	// the readings of the pairs do not differ.
	Correlation float64
	// EffectiveReadings is how many independent readings all of them, also those in no pair, are worth for their mean: n (1 - r) /
	// (1 + r) over each run without a gap, from 1 to n (Bayley and Hammersley 1946, from memory). NaN without a correlation.
	EffectiveReadings float64
	// Dependent says that the correlation is more than chance at 1 %, one-sided.
	Dependent bool
}

// Determined says whether there is a correlation.
func (d *Dependence) Determined() bool { return d.Correlation >= -1 }

// Following says whether enough readings follow one another to ask whether they depend on each other.
func (d *Dependence) Following() bool { return d.Pairs+d.Unvalued >= fewestPairs }

// Serial looks for readings that are no independent samples because they were cut out of one shift: pairs of readings of one zone
// and subject of which the second begins where the first ends, with a gap or an overlap of at most half of the first; each with a
// start and at most 4 hours long. This is our own rule. A pair with a reading that is open below or above is left out rather than given
// a number. Of a reading between bounds above 0 the middle of their logarithms is taken: the test asks whether one reading foretells
// the next, for which any number made of a reading alone will do, and nothing is estimated from it.
//
// The test is that of a correlation by Fisher's z (1921, from memory), one-sided at 1 %. In a run each reading but the ends is the first
// of one pair and the second of another, which pulls the correlation of independent readings below 0 by (pairs - runs)/pairs², so
// that much is given back (our own derivation from the covariance of the two means; it is about 1/n, as in Bartlett 1946, from
// memory). The order of the readings never matters. Groups whose readings state no start or no length cost one look at each.
func Serial(readings []reading.Reading) Dependence {
	d := Dependence{Correlation: math.NaN(), EffectiveReadings: math.NaN()}
	s := serial(readings)
	if len(s) <= fewestPairs {
		return d
	}
	var firsts, seconds []float64
	chained := 0
	paired := make([]bool, len(s))
	s.eachPair(func(i, j int) {
		first, second := score(s[i]), score(s[j])
		if math.IsInf(first, 0) || math.IsInf(second, 0) {
			d.Unvalued++
			return
		}
		firsts, seconds = append(firsts, first), append(seconds, second)
		if paired[i] {
			chained++
		}
		paired[j] = true
	})
	d.Pairs = len(firsts)
	if d.Pairs < fewestPairs {
		return d
	}
	n := float64(d.Pairs)
	d.Correlation = correlation(firsts, seconds)
	d.Dependent = (math.Atanh(d.Correlation)+float64(chained)/(n*n))*math.Sqrt(n-3) > dependentScore
	if d.Determined() {
		d.EffectiveReadings = float64(len(readings)-len(s)) + s.effective(d.Correlation)
	}
	return d
}

// score is the logarithm of a value, the middle of the logarithms of bounds, and infinite where a reading is open.
func score(r *reading.Reading) float64 {
	if r.Kind == reading.Detected {
		return math.Log(r.Lower)
	}
	return (math.Log(r.Lower) + math.Log(r.Upper)) / 2
}

// sequence is readings that state a start and a length of at most longestSerial, by zone and subject and then by start.
type sequence []*reading.Reading

// serial is nil when there are too few such readings.
func serial(readings []reading.Reading) sequence {
	n := 0
	for i := range readings {
		if isSerial(&readings[i]) {
			n++
		}
	}
	if n <= fewestPairs {
		return nil
	}
	s := make(sequence, 0, n)
	for i := range readings {
		if isSerial(&readings[i]) {
			s = append(s, &readings[i])
		}
	}
	slices.SortFunc(s, func(a, b *reading.Reading) int {
		return cmp.Or(
			strings.Compare(a.Zone, b.Zone), strings.Compare(a.Subject, b.Subject), a.Start.Compare(b.Start),
			cmp.Compare(a.Duration, b.Duration), cmp.Compare(a.Lower, b.Lower), cmp.Compare(a.Upper, b.Upper),
		)
	})
	return s
}

func isSerial(r *reading.Reading) bool {
	return r.Duration > 0 && r.Duration <= longestSerial && !r.Start.IsZero()
}

// together says whether two readings are of one zone and subject.
func together(a, b *reading.Reading) bool { return a.Zone == b.Zone && a.Subject == b.Subject }

// eachPair visits each reading with the one that follows it, if any. A reading follows at most one other, so that two samplers
// side by side make two series.
func (s sequence) eachPair(visit func(i, j int)) {
	// free leads from each reading to itself while it follows none, and otherwise on to a later one.
	free := make([]int, len(s)+1)
	for i := range free {
		free[i] = i
	}
	for i, r := range s {
		end, half := r.Start.Add(r.Duration), r.Duration/2
		from := i + 1 + sortedAfter(s[i+1:], r, end.Add(-half))
		j := from
		for free[j] != j {
			free[j] = free[free[j]]
			j = free[j]
		}
		if j < len(s) && together(r, s[j]) && !s[j].Start.After(end.Add(half)) {
			free[j] = j + 1
			visit(i, j)
		}
	}
}

// sortedAfter is where the readings that begin at a time or later start among those behind r, or where its zone and subject end.
func sortedAfter(behind sequence, r *reading.Reading, at time.Time) int {
	i, _ := slices.BinarySearchFunc(behind, at, func(b *reading.Reading, at time.Time) int {
		if together(b, r) && b.Start.Before(at) {
			return -1
		}
		return 1
	})
	return i
}

// effective adds up what the runs without a gap are worth.
func (s sequence) effective(r float64) float64 {
	worth := (1 - r) / (1 + r)
	total, run := 0.0, 0.0
	var end time.Time
	for i, now := range s {
		if i > 0 && (!together(s[i-1], now) || now.Start.After(end.Add(s[i-1].Duration/2))) {
			total += min(max(run*worth, 1), run)
			run, end = 0, time.Time{}
		}
		run++
		if e := now.Start.Add(now.Duration); e.After(end) {
			end = e
		}
	}
	return total + min(max(run*worth, 1), run)
}

// correlation is that of Pearson, NaN when one side does not vary.
func correlation(x, y []float64) float64 {
	n := float64(len(x))
	var meanX, meanY float64
	for i := range x {
		meanX += x[i] / n
		meanY += y[i] / n
	}
	var xx, yy, xy float64
	for i := range x {
		dx, dy := x[i]-meanX, y[i]-meanY
		xx += dx * dx
		yy += dy * dy
		xy += dx * dy
	}
	// Equal readings leave the rounding of their mean.
	const noise = 1e-24
	if !(xx > noise*n*(1+meanX*meanX) && yy > noise*n*(1+meanY*meanY)) {
		return math.NaN()
	}
	return min(max(xy/math.Sqrt(xx*yy), -1), 1)
}
