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
	if p.narrow() {
		p.beneath(tags)
		return
	}
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

// block is labels that touch each other, from the top down: their number, height, and the middle that they have together.
type block struct {
	count          int
	height, middle float64
}

// spread finds the middle of each label, which come from the top down: each where it belongs, and those that would overlap pushed
// apart by the same way up and down.
func (p *panel) spread(tags []tag) []float64 {
	var blocks []block
	ceiling := p.y.to + lineHeight
	for i := range tags {
		b := block{1, tags[i].height(), tags[i].y}
		b.middle = p.held(b, ceiling)
		for n := len(blocks); n > 0 && blocks[n-1].middle-blocks[n-1].height/2 < b.middle+b.height/2; n-- {
			above := blocks[n-1]
			blocks = blocks[:n-1]
			both := block{count: above.count + b.count, height: above.height + b.height}
			both.middle = (float64(above.count)*(above.middle-b.height/2) + float64(b.count)*(b.middle+above.height/2)) / float64(both.count)
			both.middle = p.held(both, ceiling)
			b = both
		}
		blocks = append(blocks, b)
	}
	places := make([]float64, 0, len(tags))
	for _, b := range blocks {
		top := b.middle + b.height/2
		for range b.count {
			h := tags[len(places)].height()
			places = append(places, top-h/2)
			top -= h
		}
	}
	return places
}

// held keeps a block under the ceiling and over the floor, the floor first: under it is the key.
func (p *panel) held(b block, ceiling float64) float64 {
	return max(p.floor+b.height/2, min(ceiling-b.height/2, b.middle))
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
