package variance

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// span is what is known of one ln reading: it lies between lower and upper, which are equal for a detected one.
type span struct{ lower, upper float64 }

func (s span) compare(t span) int {
	return cmp.Or(cmp.Compare(s.lower, t.lower), cmp.Compare(s.upper, t.upper))
}

// zone is the readings of one zone (or subject) on the scale of ln reading, in ascending order.
type zone struct {
	name  string
	spans []span
	// detected is how many have a value, mean and squares are the mean of these and their sum of squared deviations from it.
	detected      int
	mean, squares float64
	// censored holds the others, each distinct span once.
	censored []censored
}

// censored is a distinct span and how many readings share it.
type censored struct {
	span
	count float64
}

// gather sorts readings into zones. Neither the order of the readings nor the names of the zones decide the order in which
// anything is computed: readings are sorted, and zones are sorted by their readings.
func gather(readings []reading.Reading, by func(reading.Reading) string, what string) ([]zone, error) {
	index := map[string]int{}
	var zones []zone
	for i := range readings {
		if err := readings[i].Check(); err != nil {
			return nil, fault.Under(fmt.Sprintf("readings[%d]", i), err)
		}
		name := by(readings[i])
		if name == "" {
			return nil, fault.Invalid(fmt.Sprintf("readings[%d].%s", i, what), "is empty; every reading must name its %s", what)
		}
		at, known := index[name]
		if !known {
			at = len(zones)
			index[name] = at
			zones = append(zones, zone{name: name})
		}
		zones[at].spans = append(zones[at].spans, span{math.Log(readings[i].Lower), math.Log(readings[i].Upper)})
	}
	for i := range zones {
		zones[i].describe()
	}
	slices.SortFunc(zones, func(a, b zone) int {
		return cmp.Or(slices.CompareFunc(a.spans, b.spans, span.compare), cmp.Compare(a.name, b.name))
	})
	return zones, nil
}

// describe sorts the spans and reduces them.
func (z *zone) describe() {
	slices.SortFunc(z.spans, span.compare)
	for _, s := range z.spans {
		last := len(z.censored) - 1
		switch {
		case s.lower == s.upper:
			z.detected++
			z.mean += (s.lower - z.mean) / float64(z.detected)
		case last >= 0 && z.censored[last].span == s:
			z.censored[last].count++
		default:
			z.censored = append(z.censored, censored{s, 1})
		}
	}
	for _, s := range z.spans {
		if s.lower == s.upper {
			z.squares += (s.lower - z.mean) * (s.lower - z.mean)
		}
	}
}

// count is the number of readings.
func (z *zone) count() int { return len(z.spans) }

// newLayout reduces zones whose readings all have a value. It returns what each says of its mean as well.
func newLayout(zones []zone) (layout, []own) {
	var l layout
	readings := 0.0
	for i := range zones {
		n := float64(zones[i].count())
		readings += n
		l.origin += (zones[i].mean - l.origin) * n / readings
		l.squares += zones[i].squares
	}
	means := make([]own, len(zones))
	for i := range zones {
		means[i] = own{float64(zones[i].count()), zones[i].mean - l.origin, 1}
	}
	l.classes = classify(means)
	l.between = float64(len(zones) - 1)
	l.within = readings - float64(len(zones))
	return l, means
}
