package sheet

import (
	"cmp"
	"slices"
)

// Tag is a label beside the panel at the height of what it names.
type Tag struct {
	Y     float64
	Lines []string
	// Look is that of the first line.
	Look Lettering
	// Loose says that the label names nothing at its height.
	Loose bool
	// Sample, where it has a width, is a piece of the line that the label names.
	Sample Line
	// Piece is drawn before the label where it stands under the panel, Pointed with the mark of an estimate on it.
	Piece   Line
	Pointed bool
}

// sampleWidth is that of a sample with the room after it.
const sampleWidth = 34

func (t *Tag) height() float64 { return float64(len(t.Lines)) * LineHeight }

// Tags writes labels at the right of the panel, pushed apart where they would overlap, each with a line to its place.
func (p *Panel) Tags(tags []Tag) {
	tags = byHeight(tags)
	if p.Narrow() {
		p.beneath(tags)
		return
	}
	const lead, gap = 12, 4
	x := p.X.To + lead + gap
	for i := range tags {
		tags[i].Lines = broken(tags[i].Lines, p.Width-x-4)
	}
	places := p.spread(tags)
	var leads [][4]float64
	for i, t := range tags {
		if !t.Loose {
			leads = append(leads, [4]float64{p.X.To + 1, t.Y, p.X.To + lead, places[i]})
		}
		top := places[i] + t.height()/2
		if t.Sample.Width > 0 {
			p.Segments(t.Sample, [4]float64{x, top - LineHeight/2, x + sampleWidth - 6, top - LineHeight/2})
		}
		for j, text := range t.Lines {
			look := t.Look
			if j > 0 {
				look = quietType
			}
			x := x
			if t.Sample.Width > 0 {
				x += sampleWidth
			}
			p.Words(x, top-float64(j+1)*LineHeight+4, look.Fitting(Clean(text), p.Width-x-4), look)
		}
	}
	p.Segments(leadLine, leads...)
}

// byHeight sorts labels from the top down; those without a place are left out.
func byHeight(tags []Tag) []Tag {
	tags = slices.DeleteFunc(tags, func(t Tag) bool { return !Finite(t.Y) })
	slices.SortStableFunc(tags, func(a, b Tag) int { return cmp.Compare(b.Y, a.Y) })
	return tags
}

// block is labels that touch each other, from the top down: their number, height, and the middle that they have together.
type block struct {
	count          int
	height, middle float64
}

// spread finds the middle of each label, which come from the top down: each where it belongs, and those that would overlap pushed
// apart by the same way up and down.
func (p *Panel) spread(tags []Tag) []float64 {
	var blocks []block
	ceiling := p.Y.To + LineHeight
	for i := range tags {
		b := block{1, tags[i].height(), tags[i].Y}
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
func (p *Panel) held(b block, ceiling float64) float64 {
	return max(p.Floor+b.height/2, min(ceiling-b.height/2, b.middle))
}

// broken breaks the lines after the first, which is in bold, where they are too long.
func broken(lines []string, width float64) []string {
	out := lines[:min(1, len(lines)):min(1, len(lines))]
	for _, text := range lines[len(out):] {
		if quietType.Width(text) > width {
			if first, rest, found := quietType.FirstLine(text, width); found {
				out, text = append(out, first), rest
			}
		}
		out = append(out, text)
	}
	return out
}
