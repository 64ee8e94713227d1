package figure

import (
	"cmp"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// Time draws readings over time by zone, with the limit and the unit of a, which may have no more than those. When not all have a
// start they are drawn in their order, and the axis says so. The error is as for Probability.
func Time(w io.Writer, a *report.Assessment, readings []reading.Reading, f Format) error {
	if a == nil || len(readings) == 0 {
		return missing("readings")
	}
	s := &sheet.Sheet{
		Width: sheet.UsualWidth, Height: sheet.UsualHeight,
		Title:    titled("Readings over time", a.Name, a.Agent),
		Subtitle: judged(sample(reading.Count(readings)), a.Limit),
	}
	s.Subtitle = crowded(s.Subtitle, len(readings))
	s.Description = s.Subtitle + "."
	order := orderOf(readings)
	rows := max(labelRows(reading.Count(readings)), len(zonesOf(readings))+1)
	p := panel{s.Shaped(f, rows).Panel(order.Scale, valueScale(a, readings))}
	return s.Draw(w, f, func() { p.overTime(a, readings, order) })
}

func valueScale(a *report.Assessment, readings []reading.Reading) sheet.Scale {
	var s sheet.Span
	for i := range readings {
		s.Add(readings[i].Value())
	}
	for i := range readings {
		s.Reach(readings[i].Lower, 10)
		s.Reach(readings[i].Upper, 10)
	}
	if a.Limit != nil {
		s.Reach(a.Limit.Value, far)
	}
	marked(&s, reading.Count(readings))
	return s.Scale()
}

// ordering is where readings stand from left to right.
type ordering struct {
	sheet.Scale
	ticks  []sheet.Tick
	name   string
	places []float64
}

func orderOf(readings []reading.Reading) ordering {
	unknown := 0
	for i := range readings {
		if readings[i].Start.IsZero() {
			unknown++
		}
	}
	if unknown > 0 {
		return inOrder(len(readings), unknown)
	}
	first, last := readings[0].Start, readings[0].Start
	o := ordering{places: make([]float64, len(readings))}
	for i := range readings {
		at := readings[i].Start
		if at.Before(first) {
			first = at
		}
		if at.After(last) {
			last = at
		}
		o.places[i] = sheet.Seconds(at)
	}
	o.Scale, o.ticks, o.name = timeScale(first, last)
	return o
}

// inOrder places readings by their order.
func inOrder(n, unknown int) ordering {
	o := ordering{places: make([]float64, n), Scale: sheet.Scale{Onto: sheet.Linear, Low: 0.3, High: float64(n) + 0.7}}
	for i := range n {
		o.places[i] = float64(i + 1)
	}
	o.name = "Readings in the order given (" + strconv.Itoa(unknown) + " of " + strconv.Itoa(n) + " without a start)"
	if unknown == n {
		o.name = "Readings in the order given (no start stated)"
	}
	o.ticks = wholeTicks(1, float64(n), 8)
	if n == 1 {
		o.ticks = []sheet.Tick{{Value: 1, Label: "1"}}
	}
	return o
}

// timeScale is a scale of time with room at both ends.
func timeScale(first, last time.Time) (s sheet.Scale, ticks []sheet.Tick, name string) {
	low, high := sheet.Seconds(first), sheet.Seconds(last)
	room := max(0.04*(high-low), 30)
	s = sheet.Scale{Onto: sheet.Linear, Low: low - room, High: high + room}
	ticks, name = sheet.TimeTicks(s.Low, s.High)
	return s, ticks, name
}

// zone is the readings of one zone.
type zone struct {
	name    string
	indices []int
}

// zonesOf returns the zones with the most readings first, and those that have no shape of their own together as the last.
func zonesOf(readings []reading.Reading) []zone {
	index := map[string]int{}
	var zones []zone
	for i := range readings {
		name := strings.TrimSpace(readings[i].Zone)
		at, known := index[name]
		if !known {
			at = len(zones)
			index[name] = at
			zones = append(zones, zone{name: name})
		}
		zones[at].indices = append(zones[at].indices, i)
	}
	slices.SortStableFunc(zones, func(a, b zone) int {
		return cmp.Or(cmp.Compare(len(b.indices), len(a.indices)), cmp.Compare(a.name, b.name))
	})
	if len(zones) <= int(sheet.Outlines) {
		return zones
	}
	rest := zone{name: count(len(zones)-int(sheet.Outlines)+1, "other zone")}
	for _, z := range zones[sheet.Outlines-1:] {
		rest.indices = append(rest.indices, z.indices...)
	}
	slices.Sort(rest.indices)
	return append(zones[:sheet.Outlines-1:sheet.Outlines-1], rest)
}

func (p panel) overTime(a *report.Assessment, readings []reading.Reading, o ordering) {
	p.Axes(o.ticks, logTicks(p.Y.Low, p.Y.High, 12), o.name, concentration(a.Unit))
	tags := p.limitAcross(a)
	zones := zonesOf(readings)
	for i, z := range zones {
		markers := make([]sheet.Marker, len(z.indices))
		for j, k := range z.indices {
			r := &readings[k]
			markers[j] = sheet.Marker{
				X: p.X.At(o.places[k]), Y: p.Y.At(r.Value()), Low: p.Y.At(max(r.Lower, p.Y.Low)), High: p.Y.At(r.Upper), Form: formOf(r.Kind),
			}
		}
		p.Markers(markers, sheet.Outline(i), false)
	}
	p.key(reading.Count(readings), false)
	p.Tags(append(tags, p.zoneKey(zones, a)...))
	p.Edges()
}

// zoneKey names the zones beside their marker. It takes the room at the right that the limit leaves.
func (p panel) zoneKey(zones []zone, a *report.Assessment) []sheet.Tag {
	if len(zones) == 1 && zones[0].name == "" {
		return nil
	}
	y, x := p.Y.To-8, p.X.To+22
	switch {
	case p.Narrow():
		y, x = p.LabelAt(1), sheet.Margin+sheet.PieceWidth/2-3
	case a.Limit != nil:
		if limit := p.Y.Within(a.Limit.Value); limit > y-float64(len(zones)+1)*sheet.LineHeight {
			y = min(y, limit-2.2*sheet.LineHeight)
		}
	}
	wide := p.Whole()
	for i, z := range zones {
		name := sheet.Clean(z.name)
		if name == "" {
			name = "no zone stated"
		}
		number := " (" + strconv.Itoa(len(z.indices)) + ")"
		wide.Markers([]sheet.Marker{{X: x, Y: y}}, sheet.Outline(i), false)
		indent, end := 12.0, p.Width
		if p.Narrow() {
			indent, end = sheet.PieceWidth/2+3, p.Width/2
		}
		p.Words(x+indent, y-4, bodyType.Fitting(name, end-x-indent-6-bodyType.Width(number))+number, bodyType)
		y -= sheet.LineHeight + 1
	}
	return nil
}
