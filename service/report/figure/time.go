package figure

import (
	"cmp"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Time draws readings over time by zone, with the limit and the unit of a, which may have no more than those. When not all have a
// start they are drawn in their order, and the axis says so. The error is as for Probability.
func Time(w io.Writer, a *report.Assessment, readings []reading.Reading, f Format) error {
	if a == nil || len(readings) == 0 {
		return missing("readings")
	}
	s := &sheet{
		width: sheetWidth, height: sheetHeight,
		title:    titled("Readings over time", a.Name, a.Agent),
		subtitle: judged(sample(reading.Count(readings)), a.Limit),
	}
	s.subtitle = crowded(s.subtitle, len(readings))
	s.description = s.subtitle + "."
	order := orderOf(readings)
	rows := max(labelRows(reading.Count(readings)), len(zonesOf(readings))+1)
	p := s.shaped(f, rows).panel(order.scale, valueScale(a, readings))
	return s.draw(w, f, func() { p.overTime(a, readings, order) })
}

func valueScale(a *report.Assessment, readings []reading.Reading) scale {
	var s span
	for i := range readings {
		s.add(readings[i].Value())
	}
	for i := range readings {
		s.reach(readings[i].Lower, 10)
		s.reach(readings[i].Upper, 10)
	}
	if a.Limit != nil {
		s.reach(a.Limit.Value, far)
	}
	s.marked(reading.Count(readings))
	return s.scale()
}

// ordering is where readings stand from left to right.
type ordering struct {
	scale
	ticks  []tick
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
		o.places[i] = seconds(at)
	}
	o.scale, o.ticks, o.name = timeScale(first, last)
	return o
}

// inOrder places readings by their order.
func inOrder(n, unknown int) ordering {
	o := ordering{places: make([]float64, n), scale: scale{onto: linear, low: 0.3, high: float64(n) + 0.7}}
	for i := range n {
		o.places[i] = float64(i + 1)
	}
	o.name = "Readings in the order given (" + strconv.Itoa(unknown) + " of " + strconv.Itoa(n) + " without a start)"
	if unknown == n {
		o.name = "Readings in the order given (no start stated)"
	}
	for _, t := range linearTicks(1, float64(n), 8) {
		if t.value == math.Trunc(t.value) {
			o.ticks = append(o.ticks, t)
		}
	}
	if n == 1 {
		o.ticks = []tick{{1, "1"}}
	}
	return o
}

// seconds is a time as a number; no clock counts further than the years 1 to 9999.
func seconds(t time.Time) float64 { return float64(t.Unix()) + float64(t.Nanosecond())/1e9 }

// timeScale is a scale of time with room at both ends.
func timeScale(first, last time.Time) (s scale, ticks []tick, name string) {
	low, high := seconds(first), seconds(last)
	room := max(0.04*(high-low), 30)
	s = scale{onto: linear, low: low - room, high: high + room}
	ticks, name = timeTicks(s.low, s.high)
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
	if len(zones) <= int(outlines) {
		return zones
	}
	rest := zone{name: count(len(zones)-int(outlines)+1, "other zone")}
	for _, z := range zones[outlines-1:] {
		rest.indices = append(rest.indices, z.indices...)
	}
	slices.Sort(rest.indices)
	return append(zones[:outlines-1:outlines-1], rest)
}

func (p *panel) overTime(a *report.Assessment, readings []reading.Reading, o ordering) {
	p.axes(o.ticks, logTicks(p.y.low, p.y.high, 12), o.name, concentration(a.Unit))
	tags := p.limitAcross(a)
	zones := zonesOf(readings)
	for i, z := range zones {
		markers := make([]marker, len(z.indices))
		for j, k := range z.indices {
			r := &readings[k]
			markers[j] = marker{
				x: p.x.at(o.places[k]), y: p.y.at(r.Value()), low: p.y.at(max(r.Lower, p.y.low)), high: p.y.at(r.Upper), kind: r.Kind,
			}
		}
		p.markers(markers, outline(i), false)
	}
	p.key(reading.Count(readings), false)
	p.tags(append(tags, p.zoneKey(zones, a)...))
	p.edges()
}

// zoneKey names the zones beside their marker. It takes the room at the right that the limit leaves.
func (p *panel) zoneKey(zones []zone, a *report.Assessment) []tag {
	if len(zones) == 1 && zones[0].name == "" {
		return nil
	}
	y, x := p.y.to-8, p.x.to+22
	switch {
	case p.narrow():
		y, x = p.below-4-1.5*lineHeight, margin+narrowSample/2-3
	case a.Limit != nil:
		if limit := p.y.within(a.Limit.Value); limit > y-float64(len(zones)+1)*lineHeight {
			y = min(y, limit-2.2*lineHeight)
		}
	}
	wide := p.whole()
	for i, z := range zones {

		name := clean(z.name)
		if name == "" {
			name = "no zone stated"
		}
		number := " (" + strconv.Itoa(len(z.indices)) + ")"
		wide.markers([]marker{{x: x, y: y}}, outline(i), false)
		indent, end := 12.0, p.width
		if p.narrow() {
			indent, end = narrowSample/2+3, p.width/2
		}
		p.words(x+indent, y-4, bodyType.fitting(name, end-x-indent-6-bodyType.width(number))+number, bodyType)
		y -= lineHeight + 1
	}
	return nil
}

// whole is the sheet as one panel.
func (p *panel) whole() *panel {
	return &panel{sheet: p.sheet, x: scale{from: 0, to: p.width, low: 0, high: 1, onto: linear}, y: scale{from: 0, to: p.height, low: 0, high: 1, onto: linear}}
}
