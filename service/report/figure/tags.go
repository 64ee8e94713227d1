package figure

import (
	"cmp"
	"slices"
	"strings"
)

// tag is a label beside the panel at the height of what it names.
type tag struct {
	y     float64
	lines []string
	look  lettering
	// loose says that the label names nothing at its height.
	loose bool
}

func (t *tag) height() float64 { return float64(len(t.lines)) * lineHeight }

// tags writes labels at the right of the panel, pushed apart where they would overlap, each with a line to its place.
func (p *panel) tags(tags []tag) {
	tags = slices.DeleteFunc(tags, func(t tag) bool { return !finite(t.y) })
	slices.SortStableFunc(tags, func(a, b tag) int { return cmp.Compare(b.y, a.y) })
	const lead, gap = 12, 4
	x := p.x.to + lead + gap
	for i := range tags {
		tags[i].lines = broken(tags[i].lines, p.width-x-4)
	}
	places := p.spread(tags)
	var leads [][4]float64
	for i, t := range tags {
		if !t.loose {
			leads = append(leads, [4]float64{p.x.to + 1, t.y, p.x.to + lead, places[i]})
		}
		top := places[i] + t.height()/2
		for j, text := range t.lines {
			look := t.look
			if j > 0 {
				look = quietType
			}
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

// broken breaks the lines after the first, which is in bold, where they are too long.
func broken(lines []string, width float64) []string {
	out := lines[:min(1, len(lines)):min(1, len(lines))]
	for _, text := range lines[len(out):] {
		for i := strings.LastIndexByte(text, ' '); i > 0 && quietType.width(text) > width; i = strings.LastIndexByte(text[:i], ' ') {
			if quietType.width(text[:i]) <= width {
				out, text = append(out, text[:i]), text[i+1:]
				break
			}
		}
		out = append(out, text)
	}
	return out
}
