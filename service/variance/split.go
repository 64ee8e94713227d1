package variance

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// splitter looks for the groups into which zones fall by themselves: zones in the order of their means, cut into contiguous
// groups. Each group has a mean of its own; sigma_b within groups and sigma_w are common.
//
// A split is judged by the completed likelihood, that of the readings and of the groups that the zones belong to, with the
// penalty of BIC:
//
//	cost = -2 ln L - 2 sum k_h ln(k_h/k) + 2 (groups-1) ln N,
//
// for k_h of k zones in group h. The second term is what it takes to say which zone belongs where; without it the sorting of
// the zones would make groups out of chance alone. For each added group the last counts its mean and its share of the zones.
//
// Source: the integrated completed likelihood of Biernacki, Celeux and Govaert (2000, from memory), classification by
// alternating with the variances (Celeux and Govaert 1992, from memory); for known variances the best contiguous groups are
// found exactly by dynamic programming (Fisher 1958, from memory).
type splitter struct {
	layout *layout
	// zones ascend by mean; order says which zone each one was.
	zones    []own
	order    []int
	readings float64
	// labels is the cost of saying which zones make up a group, by its size.
	labels []float64
}

// division is zones cut into contiguous groups: group h is zones[cuts[h]:cuts[h+1]].
type division struct {
	cuts []int
	// cost is as in splitter, without what all divisions share.
	cost float64
	best point
}

const (
	// mostGroups bounds the groups of a split: with more it would be a ranking.
	mostGroups = 5
	// mostZonesSplit bounds the zones for which a split is looked for; the work grows with their square.
	mostZonesSplit = 1000
	// splitRounds bounds the alternations between groups and variances. They settle after 2 to 4, because each lowers the cost.
	splitRounds = 20
)

func newSplitter(l *layout, zones []own) *splitter {
	s := &splitter{layout: l, readings: l.total() + 1, order: make([]int, len(zones))}
	for i := range s.order {
		s.order[i] = i
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(zones[a].mean, zones[b].mean) })
	for _, i := range s.order {
		s.zones = append(s.zones, zones[i])
	}
	s.labels = make([]float64, len(zones)+1)
	for size := 1.0; size <= float64(len(zones)); size++ {
		s.labels[int(size)] = -2 * size * math.Log(size/float64(len(zones)))
	}
	return s
}

// search returns the division into one group and the best of the others.
func (s *splitter) search() (whole, best division, err error) {
	if whole, err = s.judge([]int{0, len(s.zones)}); err != nil {
		return whole, best, err
	}
	best.cost = math.Inf(1)
	for groups := 2; groups <= min(mostGroups, len(s.zones)); groups++ {
		var found division
		for _, theta := range [...]float64{0, whole.best.theta} {
			if found, err = s.settle(groups, point{theta: theta, variance: whole.best.variance}, found); err != nil {
				return whole, best, err
			}
			if found.cost < best.cost {
				best = found
			}
		}
	}
	return whole, best, nil
}

// settle alternates between the best groups for the variances and the best variances for the groups, until it comes to groups
// that it has just left or that were found before.
func (s *splitter) settle(groups int, at point, found division) (division, error) {
	var last division
	for range splitRounds {
		cuts := s.cut(groups, at)
		if slices.Equal(cuts, found.cuts) {
			return found, nil
		}
		if slices.Equal(cuts, last.cuts) {
			break
		}
		var err error
		if last, err = s.judge(cuts); err != nil {
			return division{}, err
		}
		at = last.best
	}
	return last, nil
}

// judge finds the variances of a division and its cost.
func (s *splitter) judge(cuts []int) (division, error) {
	d := division{cuts: cuts}
	p := profile{within: s.layout.squares, degrees: s.readings}
	for h := 1; h < len(cuts); h++ {
		p.groups = append(p.groups, layout{classes: classify(s.zones[cuts[h-1]:cuts[h]])})
	}
	var err error
	if d.best, err = p.minimize(); err != nil {
		return d, err
	}
	d.cost = p.value(d.best) + 2*float64(len(cuts)-2)*math.Log(s.readings)
	for h := 1; h < len(cuts); h++ {
		d.cost += s.labels[cuts[h]-cuts[h-1]]
	}
	return d, nil
}

// cut returns the contiguous groups of least cost at known variances, by dynamic programming over the last group.
func (s *splitter) cut(groups int, at point) []int {
	k := len(s.zones)
	sums := newSums(s.zones, at.theta)
	// least[i] is the least cost of the first i zones in the groups so far, from[h][i] where the last of them begins.
	least := make([]float64, k+1)
	for i := 1; i <= k; i++ {
		least[i] = math.Inf(1)
	}
	from := make([][]int, groups)
	for h := range groups {
		next := make([]float64, k+1)
		from[h] = make([]int, k+1)
		for i := range next {
			next[i] = math.Inf(1)
			for j := h; j < i; j++ {
				if cost := least[j] + sums.squares(j, i)/at.variance + s.labels[i-j]; cost < next[i] {
					next[i], from[h][i] = cost, j
				}
			}
		}
		least = next
	}
	cuts := make([]int, groups+1)
	cuts[groups] = k
	for h := groups - 1; h >= 0; h-- {
		cuts[h] = from[h][cuts[h+1]]
	}
	return cuts
}

// sums are running sums of w, w y and w y² over zones, so that the squares of any stretch cost nothing.
type sums struct{ weight, moment, power []float64 }

func newSums(zones []own, theta float64) sums {
	s := sums{make([]float64, len(zones)+1), make([]float64, len(zones)+1), make([]float64, len(zones)+1)}
	for i, z := range zones {
		w := z.n / (1 + z.n*theta)
		s.weight[i+1] = s.weight[i] + w
		s.moment[i+1] = s.moment[i] + w*z.mean
		s.power[i+1] = s.power[i] + w*z.mean*z.mean
	}
	return s
}

// squares is the weighted sum of squares of zones[j:i] about their mean.
func (s *sums) squares(j, i int) float64 {
	weight, moment := s.weight[i]-s.weight[j], s.moment[i]-s.moment[j]
	return max(s.power[i]-s.power[j]-moment*moment/weight, 0)
}

// split proposes groups of zones when these may not be pooled and the groups explain the readings better than one whose zones
// vary at random.
func (m *model) split(r *Result, o Options) error {
	var zones []own
	var names []int
	for i, z := range m.own {
		if z.n > 0 {
			zones, names = append(zones, z), append(names, i)
		}
	}
	if r.Pooling.Pool || len(zones) < 2 || len(zones) > mostZonesSplit || !m.layout.telling() {
		return nil
	}
	s := newSplitter(&m.layout, zones)
	whole, best, err := s.search()
	if err != nil || !(best.cost < whole.cost) {
		return err
	}
	r.Split = &Split{Advantage: whole.cost - best.cost}
	for h := len(best.cuts) - 1; h > 0; h-- {
		from, to := best.cuts[h-1], best.cuts[h]
		group := layout{classes: classify(s.zones[from:to])}
		g := SplitGroup{GeometricMean: finite(math.Exp(m.layout.origin + group.at(best.best.theta).mean))}
		for _, i := range s.order[from:to] {
			z := &m.zones[names[i]]
			g.Zones = append(g.Zones, z.name)
			g.Readings += z.count()
		}
		slices.Sort(g.Zones)
		r.Split.Groups = append(r.Split.Groups, g)
	}
	r.Split.Reason = fmt.Sprintf("%d groups explain the readings better than one group whose %ss vary at random: BIC is lower by %s (more "+
		"than 6 is strong).", len(r.Split.Groups), o.What, number(r.Split.Advantage))
	return nil
}
