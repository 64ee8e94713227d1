package figure

import (
	"cmp"
	"slices"
)

// tag is a label beside the panel at the height of what it names.
type tag struct {
	y     float64
	lines []string
	look  lettering
}

func (t *tag) height() float64 { return float64(len(t.lines)) * lineHeight }

// tags writes labels at the right of the panel, pushed apart where they would overlap, each with a line to its place.
func (p *panel) tags(tags []tag) {
	tags = slices.DeleteFunc(tags, func(t tag) bool { return !finite(t.y) })
	slices.SortStableFunc(tags, func(a, b tag) int { return cmp.Compare(b.y, a.y) })
	places := p.spread(tags)
	const lead, gap = 12, 4
	var leads [][4]float64
	for i, t := range tags {
		leads = append(leads, [4]float64{p.x.to + 1, t.y, p.x.to + lead, places[i]})
		top := places[i] + t.height()/2
		for j, text := range t.lines {
			look := t.look
			if j > 0 {
				look = quietType
			}
			x := p.x.to + lead + gap
			p.words(x, top-float64(j+1)*lineHeight+4, look.fitting(clean(text), p.width-x-4), look)
		}
	}
	p.segments(leadLine, leads...)
}

// spread finds the middle of each label, which come from the top down.
func (p *panel) spread(tags []tag) []float64 {
	places := make([]float64, len(tags))
	for i := range tags {
		places[i] = tags[i].y
		if i > 0 {
			places[i] = min(places[i], places[i-1]-(tags[i-1].height()+tags[i].height())/2)
		}
	}
	floor := p.floor
	for i := len(tags) - 1; i >= 0; i-- {
		least := floor + tags[i].height()/2
		if i+1 < len(tags) {
			least = places[i+1] + (tags[i+1].height()+tags[i].height())/2
		}
		if places[i] >= least {
			break
		}
		places[i] = least
	}
	return places
}
