package figure

import (
	"math"

	"gonum.org/v1/plot/vg"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report/figure/sheet"
)

// panel is the part of a sheet in which exposures stand.
type panel struct{ *sheet.Panel }

// The lines. No two differ by color alone.
var (
	fitLine   = sheet.Line{Color: sheet.Deep, Width: 2}
	thinLine  = sheet.Line{Color: sheet.Deep, Width: 1}
	ruleLine  = sheet.Line{Color: sheet.Faint, Width: 1}
	limitLine = sheet.Line{Color: sheet.Warm, Width: 1.6, Dash: []vg.Length{8, 4}}
	dataLine  = sheet.Line{Color: sheet.Ink, Width: 1.2}
)

// The letters.
var (
	bodyType  = sheet.Letters(sheet.Ink)
	quietType = sheet.Letters(sheet.Quiet)
	limitType = sheet.Letters(sheet.Warm).Strong()
	deepType  = sheet.Letters(sheet.Deep).Strong()
)

// tag is a label at a height; the first line has a look of its own.
func tag(y float64, look sheet.Lettering, lines ...string) sheet.Tag {
	t := sheet.Tag{Y: y, Look: look, Lines: lines, Piece: fitLine}
	switch look {
	case limitType:
		t.Piece = limitLine
	case deepType:
		t.Pointed = true
	}
	return t
}

// formOf is how a reading of a kind is marked; one of a kind that is none is not.
func formOf(k reading.Kind) sheet.Form {
	switch k {
	case reading.Detected:
		return sheet.Solid
	case reading.Below:
		return sheet.Downward
	case reading.Above:
		return sheet.Upward
	case reading.Between:
		return sheet.Barred
	default:
		return sheet.Hidden
	}
}

// key explains the markers that are there, at the lower right; along is as for markers. The labels stay over it.
func (p panel) key(c reading.Counts, along bool) {
	rows := []struct {
		n    int
		kind reading.Kind
		what string
	}{
		{c.Between, reading.Between, "between two bounds"},
		{c.Above, reading.Above, "above the range"},
		{c.Below, reading.Below, "below reporting limit"},
		{c.Detected, reading.Detected, "reading with a value"},
	}
	if c.Censored() == 0 {
		return
	}
	const row = 18
	y, x := 13.0, p.X.To+22
	if p.Narrow() {
		shown := 0
		for _, r := range rows {
			if r.n > 0 {
				shown++
			}
		}
		y, x = p.LabelAt(0)-2.5-row*float64(shown-1), p.Width/2+12
	}
	wide := p.Whole()
	for _, r := range rows {
		if r.n == 0 {
			continue
		}
		m := sheet.Marker{X: x, Y: y, Low: x - 10, High: x + 10, Form: formOf(r.kind)}
		if !along {
			m.Low, m.High = y-8, y+8
		}
		wide.Markers([]sheet.Marker{m.Centered(along)}, sheet.Round, along)
		p.Words(x+20, y-4, r.what, quietType)
		y += row
	}
	p.Floor = y
}

// labelRows is how many rows the labels of a figure of such readings take under it: two columns, or one beside the key.
func labelRows(c reading.Counts) int {
	if c.Censored() > 0 {
		return 6
	}
	return 3
}

// marked leaves room for the marks of readings that lie beyond their bound.
func marked(s *sheet.Span, c reading.Counts) {
	const room = 0.06
	low, high := s.Low, s.High
	if low == 0 {
		return
	}
	if c.Below > 0 {
		s.Add(low / math.Pow(high/low, room))
	}
	if c.Above > 0 {
		s.Add(high * math.Pow(high/low, room))
	}
}

func logTicks(low, high float64, most int) []sheet.Tick {
	return sheet.Labeled(sheet.LogTicks(low, high, most), number)
}

func linearTicks(low, high float64, most int) []sheet.Tick {
	return sheet.Labeled(sheet.LinearTicks(low, high, most), number)
}

// wholeTicks are at whole numbers.
func wholeTicks(low, high float64, most int) []sheet.Tick {
	var ticks []sheet.Tick
	for _, t := range linearTicks(low, high, most) {
		if t.Value == math.Trunc(t.Value) {
			ticks = append(ticks, t)
		}
	}
	return ticks
}
