package planning

import (
	"math"

	"example.com/tailbound/service/numeric"
)

// quiet is the chance that none of the k new readings is above the limit and, when factor is greater than 0, mean +
// factor·sd of all readings lies below it. Given psi and b the new readings have a known mean and spread, and the law of
// their largest studentized deviate says with what probability none is above the limit.
func (p *pooled) quiet(law *deviateLaw, factor float64) float64 {
	return p.chance(p.quietQuestion(law, factor))
}

func (p *pooled) quietQuestion(law *deviateLaw, factor float64) question {
	return question{
		band: func(sin, cos float64) band {
			b := band{hi: math.Inf(1)}
			if factor > 0 {
				b.hi = p.room(factor, sin, cos)
			}
			if p.distance(sin, cos) <= 0 {
				b.hi = -1
			}
			return b
		},
		worth: func(b band, sin, cos float64) float64 {
			if law == nil {
				return 1
			}
			return p.quietWithin(law, b.hi, p.distance(sin, cos))
		},
	}
}

// distance is (ln L - mean of the new readings) cos(psi)/a; their standard deviation in the same unit is sqrt(b/(k-1)).
func (p *pooled) distance(sin, cos float64) float64 { return p.limit*cos - p.fresh*sin }

// quietWithin is the chance that b <= most and no new reading is above the limit, which lies u = distance sqrt((k-1)/b) of
// their standard deviations above their mean: certain as long as u is the largest deviate or more.
func (p *pooled) quietWithin(law *deviateLaw, most, distance float64) float64 {
	first := distance / law.largest()
	first *= first * (p.k - 1)
	if most <= first {
		return p.below(most)
	}
	last := law.edges[len(law.edges)-1]
	if !math.IsInf(most, 1) {
		last = min(last, math.Acos(math.Sqrt(first/most)))
	}
	sum := p.below(first)
	from := 0.0
	for _, edge := range law.hard() {
		to := min(edge, last)
		sum += p.quietBetween(law, first, from, to)
		from = max(from, to)
	}
	return sum + p.quietBetween(law, first, from, last)
}

// quietBetween integrates the density of b = first/cos²(theta) times the law over a piece of theta.
func (p *pooled) quietBetween(law *deviateLaw, first, from, to float64) float64 {
	if !(to > from) {
		return 0
	}
	// ln b has a standard deviation of about sqrt(2/(k-1) + 2/n0), and the law rises from 0 to 1 over about 2 of ln b.
	const deviations, rise, most = 4, 1.2, 24
	length := 2 * math.Log(math.Cos(from)/math.Cos(to))
	step := min(rise, deviations*math.Sqrt(2/(p.k-1)+2/p.n0))
	panels := min(most, math.Ceil(length/step))
	sum, start, cosine := 0.0, from, math.Cos(from)
	for i := 1.0; i <= panels; i++ {
		end := math.Acos(min(1, cosine*math.Exp(-0.5*length*i/panels)))
		sum += numeric.GaussLegendre(func(theta float64) float64 {
			sin, cos := math.Sincos(theta)
			b := first / (cos * cos)
			f := math.Exp(p.logBeta + 0.5*(p.k-1)*math.Log(b) - 0.5*(p.n0+p.k-1)*math.Log1p(b))
			return f * law.at(theta) * 2 * sin / cos
		}, start, end)
		start = end
	}
	return sum
}

// hard are the inner edges of the law at which it is too rough to integrate across.
func (l *deviateLaw) hard() []float64 {
	const smooth = 16
	if !l.root || len(l.edges) < 3 {
		return nil
	}
	return l.edges[1:max(1, min(len(l.edges)-1, smooth-int(l.n)))]
}
