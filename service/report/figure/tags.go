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
	// sample, where it has a width, is a piece of the line that the label names.
	sample line
}

// sampleWidth is that of a sample with the room after it.
const sampleWidth = 34

func (t *tag) height() float64 { return float64(len(t.lines)) * lineHeight }

// tags writes labels at the right of the panel, pushed apart where they would overlap, each with a line to its place.
func (p *panel) tags(tags []tag) {
	tags = byHeight(tags)
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
		if t.sample.width > 0 {
			p.segments(t.sample, [4]float64{x, top - lineHeight/2, x + sampleWidth - 6, top - lineHeight/2})
		}
		for j, text := range t.lines {
			look := t.look
			if j > 0 {
				look = quietType
			}
			x := x
			if t.sample.width > 0 {
				x += sampleWidth
			}
			p.words(x, top-float64(j+1)*lineHeight+4, look.fitting(clean(text), p.width-x-4), look)
		}
	}
	p.segments(leadLine, leads...)
}

// byHeight sorts labels from the top down; those without a place are left out.
func byHeight(tags []tag) []tag {
	tags = slices.DeleteFunc(tags, func(t tag) bool { return !finite(t.y) })
	slices.SortStableFunc(tags, func(a, b tag) int { return cmp.Compare(b.y, a.y) })
	return tags
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
		if quietType.width(text) > width {
			if first, rest, found := quietType.firstLine(text, width); found {
				out, text = append(out, first), rest
			}
		}
		out = append(out, text)
	}
	return out
}

// firstLine breaks a text at the last space before which it fits, but not before a %.
func (s lettering) firstLine(text string, width float64) (first, rest string, found bool) {
	text = text[:min(len(text), 500)]
	for i := strings.LastIndexByte(text, ' '); i > 0; i = strings.LastIndexByte(text[:i], ' ') {
		if text[i+1:] != "%" && s.width(text[:i]) <= width {
			return text[:i], text[i+1:], true
		}
	}
	return text, "", false
}
