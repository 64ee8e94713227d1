package variance

import (
	"cmp"
	"math"
	"slices"
)

// class is the zones that have equally many readings. Only their number and the mean and the sum of squared deviations of
// their zone means enter the likelihood, so that a thousand zones of five readings cost no more than one.
type class struct {
	// n is the number of readings of each zone, or the number of detected readings that would say as much.
	n float64
	// count is the number of zones, mean their mean from the origin of the layout, squares the sum of squared deviations.
	count, mean, squares float64
}

// layout is a one-way layout of ln readings reduced to what the likelihood needs.
type layout struct {
	classes []class
	// origin is subtracted from every mean, so that readings of any unit keep their digits.
	origin float64
	// between and within are the degrees of freedom, squares the sum of squares within zones.
	between, within, squares float64
}

// own is what one zone says of its own mean: n readings with a mean, from the origin of the layout. It counts as one zone, or
// as less than one when its readings are censored so that they say little.
type own struct{ n, mean, count float64 }

// classify sorts zones into classes. The order within a class is that of the zones.
func classify(zones []own) []class {
	sorted := slices.Clone(zones)
	slices.SortStableFunc(sorted, func(a, b own) int { return cmp.Compare(a.n, b.n) })
	var classes []class
	for first := 0; first < len(sorted); {
		last := first
		for last < len(sorted) && sorted[last].n == sorted[first].n {
			last++
		}
		if sorted[first].n > 0 {
			classes = append(classes, newClass(sorted[first:last]))
		}
		first = last
	}
	return classes
}

func newClass(zones []own) class {
	c := class{n: zones[0].n}
	for _, z := range zones {
		c.count += z.count
		c.mean += z.count * z.mean
	}
	c.mean /= c.count
	for _, z := range zones {
		c.squares += z.count * (z.mean - c.mean) * (z.mean - c.mean)
	}
	return c
}

// section is the layout at one ratio theta = sigma_b²/sigma_w². With w = n/(1 + n theta) for each zone,
//
//	weight = sum w,   mean = sum w y / sum w,   squares = sum w (y - mean)²,
//
// where y is the zone's mean: mean is the estimate of mu, sigma_w²/weight its variance, and squares/sigma_w² has a chi-square
// distribution at the true theta.
type section struct {
	weight, mean, squares float64
	// slope and bend are the first two derivatives of squares by theta.
	slope, bend float64
	// second and third are sum w² and sum w³.
	second, third float64
}

func (l *layout) at(theta float64) section {
	var s section
	moment := 0.0
	for _, c := range l.classes {
		w := c.n / (1 + c.n*theta)
		v := c.count * w
		s.weight += v
		s.second += v * w
		s.third += v * w * w
		moment += v * c.mean
	}
	s.mean = moment / s.weight
	pull := 0.0
	for _, c := range l.classes {
		w, d := c.n/(1+c.n*theta), c.mean-s.mean
		e := w * (c.squares + c.count*d*d)
		s.squares += e
		s.slope -= w * e
		s.bend += 2 * w * w * e
		pull += c.count * w * w * d
	}
	s.bend -= 2 * pull * pull / s.weight
	return s
}

// logs is sum ln(1 + n theta).
func (l *layout) logs(theta float64) float64 {
	sum := 0.0
	for _, c := range l.classes {
		sum += c.count * math.Log1p(c.n*theta)
	}
	return sum
}

// total is the degrees of freedom of the readings about one mean.
func (l *layout) total() float64 { return l.between + l.within }

// without is the layout without one zone; its readings still count within zones. What cancels is less than nothing only by
// rounding.
func (l *layout) without(z own) layout {
	rest := *l
	rest.between -= z.count
	rest.classes = make([]class, 0, len(l.classes))
	for _, c := range l.classes {
		if c.n == z.n {
			left := c.count - z.count
			if left <= 0 {
				continue
			}
			d := z.mean - c.mean
			c.squares = max(c.squares-z.count*d*d*c.count/left, 0)
			c.mean -= z.count * d / left
			c.count = left
		}
		rest.classes = append(rest.classes, c)
	}
	return rest
}
