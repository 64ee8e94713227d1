package document

import (
	"strconv"
	"time"

	"example.com/tailbound/service/reading"
)

// readingsView is the table of readings. A column that no reading fills is left out, and what all readings share is said above it.
type readingsView struct {
	Caption string
	Heads   []string
	// Looks are the classes of the columns: numbers on the right, times in one line.
	Looks []string
	Rows  [][]string
}

// Long says that the table would be longer than what stands beside it: on paper it then goes over the whole breadth.
func (v *readingsView) Long() bool {
	const beside = 30
	return len(v.Rows) > beside
}

// readingColumn is a column of the table of readings.
type readingColumn struct {
	head, look string
	// shared says that one value for all is said above the table.
	shared bool
	cell   func(*reading.Reading) string
}

func (w *words) readingColumns() []readingColumn {
	return []readingColumn{
		{w.ID, "", false, func(r *reading.Reading) string { return r.ID }},
		{w.Campaign, "", true, func(r *reading.Reading) string { return r.Campaign }},
		{w.Zone, "", true, func(r *reading.Reading) string { return r.Zone }},
		{w.Subject, "", true, func(r *reading.Reading) string { return r.Subject }},
		{w.Start, "t", false, started},
		{w.Minutes, "n", false, lasted},
		{w.Result, "n", false, w.result},
	}
}

func newReadingsView(w *words, g *Group) *readingsView {
	readings := g.Request.Readings
	if len(readings) == 0 {
		return nil
	}
	v := &readingsView{Caption: w.ReadingsBare, Rows: make([][]string, len(readings))}
	if g.Request.Unit != "" {
		v.Caption = fill(w.ReadingsCaption, "unit", string(g.Request.Unit))
	}
	v.add(w.Number, "n", func(i int) string { return strconv.Itoa(i + 1) })
	for _, c := range w.readingColumns() {
		filled, same := false, true
		for i := range readings {
			filled = filled || c.cell(&readings[i]) != ""
			same = same && c.cell(&readings[i]) == c.cell(&readings[0])
		}
		switch {
		case !filled:
		case same && c.shared:
			v.Caption += fill(w.ReadingsShare, "what", c.head, "v", c.cell(&readings[0]))
		default:
			v.add(c.head, c.look, func(i int) string { return c.cell(&readings[i]) })
		}
	}
	return v
}

func (v *readingsView) add(head, look string, cell func(int) string) {
	v.Heads, v.Looks = append(v.Heads, head), append(v.Looks, look)
	for i := range v.Rows {
		v.Rows[i] = append(v.Rows[i], cell(i))
	}
}

func started(r *reading.Reading) string {
	if r.Start.IsZero() {
		return ""
	}
	t := r.Start.UTC()
	if t.Second() == 0 && t.Nanosecond() == 0 {
		return t.Format("2006-01-02 15:04")
	}
	return t.Format("2006-01-02 15:04:05")
}

func lasted(r *reading.Reading) string {
	if r.Duration <= 0 {
		return ""
	}
	return reading.Stated(float64(r.Duration) / float64(time.Minute))
}
