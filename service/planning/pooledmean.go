package planning

import (
	"math"
	"sort"

	"example.com/tailbound/service/numeric"
)

// meanBelow is the chance that a limit of the arithmetic mean of all n readings, their mean of logs plus the margin d(sd),
// comes out below the limit. d starts at 0; that of an upper limit grows, that of a lower one falls first and then grows, so
// the standard deviations that leave it below are a range.
func (p *pooled) meanBelow(d func(sd float64) float64, sd float64) float64 {
	// scale is a: margins are not proportional to the spread, so its size counts.
	scale := sd * math.Sqrt(p.n0-1)
	valley := newValley(d)
	return p.chance(question{
		band: func(sin, cos float64) band {
			lo, hi := valley.below((p.limit - p.shift*sin/cos) * scale)
			b := band{-1, -1}
			if hi > 0 {
				b.hi = p.spread(hi/scale, cos)
			}
			if lo > 0 {
				b.lo = p.spread(lo/scale, cos)
			}
			return b
		},
		worth: func(b band, _, _ float64) float64 { return p.below(b.hi) - p.below(b.lo) },
	})
}

// valley is a margin d(s) that falls from 0 to its bottom, if it falls at all, and grows from there on.
type valley struct {
	d func(s float64) float64
	// mark holds d on a grid of ln s, so that a crossing is sought within one cell.
	mark    [valleyCells + 1]float64
	falling int     // how many marks lie before the bottom
	at      float64 // the bottom itself, in ln s
	deepest float64 // d there
}

// The range of ln s in which a margin is followed.
const (
	valleyLow   = -16.0
	valleyCells = 92
	valleyCell  = 0.25
)

// place is the ln s of a mark.
func (v *valley) place(i int) float64 { return valleyLow + valleyCell*float64(i) }

func newValley(d func(s float64) float64) *valley {
	v := &valley{d: d}
	lowest := 0
	for i := range v.mark {
		v.mark[i] = d(math.Exp(v.place(i)))
		if v.mark[i] < v.mark[lowest] {
			lowest = i
		}
	}
	v.at, v.deepest, v.falling = v.place(lowest), v.mark[lowest], lowest
	if v.deepest < 0 {
		v.deepen()
		if v.at > v.place(lowest) {
			v.falling++
		}
	}
	return v
}

// deepen finds the bottom by golden sections of the two cells beside the lowest mark.
func (v *valley) deepen() {
	const steps, section = 40, 0.381966011250105
	lo, hi := v.at-valleyCell, v.at+valleyCell
	for range steps {
		x := v.at - section*(v.at-lo)
		right := hi-v.at > v.at-lo
		if right {
			x = v.at + section*(hi-v.at)
		}
		switch y := v.d(math.Exp(x)); {
		case y < v.deepest && right:
			lo, v.at, v.deepest = v.at, x, y
		case y < v.deepest:
			hi, v.at, v.deepest = v.at, x, y
		case right:
			hi = x
		default:
			lo = x
		}
	}
}

// below is the range of s in which d(s) < c; it is empty, lo = hi, when there is none.
func (v *valley) below(c float64) (lo, hi float64) {
	if c <= v.deepest || (c <= 0 && v.deepest >= 0) {
		return 0, 0
	}
	if c < 0 {
		n := sort.Search(v.falling, func(i int) bool { return v.mark[i] < c })
		to := v.at
		if n < v.falling {
			to = v.place(n)
		}
		lo = v.cross(c, v.place(max(0, n-1)), to)
	}
	n := v.falling + sort.Search(valleyCells+1-v.falling, func(i int) bool { return v.mark[v.falling+i] >= c })
	from := v.at
	if n > v.falling {
		from = v.place(n - 1)
	}
	return lo, v.cross(c, from, v.place(min(n, valleyCells)))
}

// cross is the s, between e^from and e^to, at which d passes c; an end when it does not.
func (v *valley) cross(c, from, to float64) float64 {
	x, err := numeric.Root(func(x float64) (value, slope float64) { return v.d(math.Exp(x)) - c, 0 }, from, to)
	if err != nil {
		// Without a change of sign d stays below c as far as it is followed, or is above it from the start.
		if v.d(math.Exp(to)) < c {
			return math.Exp(to)
		}
		return math.Exp(from)
	}
	return math.Exp(x)
}
