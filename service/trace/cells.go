package trace

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"example.com/tailbound/service/table"
)

// cells is what is known of the cells of one column, and what was found in them.
type cells struct {
	// limit is the detection limit, 0 when none was stated; scale the full scale, +Inf when none was.
	limit, scale float64
	// unused says that nobody asked for the column.
	unused bool
	// under and over count cells such as <0.1 and >500 that were read.
	under, over int64
	// low are cells such as <0.1 that cannot be read, other all the rest that cannot.
	low, other unread
}

// unread counts cells that cannot be read, of which example is the first.
type unread struct {
	n       int64
	example string
}

func (u *unread) add(cell []byte) {
	if u.n++; u.n == 1 {
		u.example = table.Quote(cell)
	}
}

func newCells() cells { return cells{scale: math.Inf(1)} }

// Use says which columns are asked for, by their places among Columns. The cells of the others are no reading, whatever they hold.
func (l *Log) Use(columns ...int) {
	for i := range l.cells {
		l.cells[i].unused = !slices.Contains(columns, i)
	}
}

// Range states the detection limit of a column, 0 when there is none, and its full scale, +Inf when that is not known. A cell such as
// <0.1 is then read as 0, which is under the detection limit, when that is at least 0.1; one such as >500 as 500, which is at or over
// the full scale, when that is at most 500. The limit is NaN where values are corrected afterwards: 0 could come to lie over it.
func (l *Log) Range(column int, limit, scale float64) {
	l.cells[column].limit, l.cells[column].scale = limit, scale
}

// BadCells lists the cells of the present row that cannot be read and were taken as no reading; nil when there are none.
func (l *Log) BadCells() *table.BadRow {
	if len(l.bad) == 0 {
		return nil
	}
	return &table.BadRow{Place: l.rows.Place(), Reasons: slices.Clone(l.bad)}
}

// unusual reads a cell that is not a plain number.
func (l *Log) unusual(column int, cell []byte) float64 {
	v, wrong := l.bound(column, cell)
	if wrong != "" {
		if c := &l.cells[column]; cell[0] == '<' {
			c.low.add(cell)
		} else {
			c.other.add(cell)
		}
		l.bad = append(l.bad, l.rows.Place().Bad(l.columns[column].Name, "%s", wrong).Reasons...)
	}
	return v
}

// bound reads a cell such as <0.1 or >500 by what was stated of the column; NaN and what is wrong with it when it cannot.
func (l *Log) bound(column int, cell []byte) (v float64, wrong string) {
	mark := l.rows.Mark()
	v, ok := table.ParseNumber(bytes.TrimSpace(cell[1:]), mark)
	plain, is := table.ParseNumber(cell, mark)
	switch {
	case is && math.Abs(plain) > largest || ok && v > largest:
		return math.NaN(), fmt.Sprintf("%s is out of reach; accepted is a number up to %g in size", table.Quote(cell), largest)
	case l.rows.Unsure(cell):
		return math.NaN(), table.Unsettled(cell)
	case ok && v > 0 && cell[0] == '<':
		return l.cells[column].atMost(v, cell)
	case ok && v > 0 && cell[0] == '>':
		return l.cells[column].atLeast(v, cell)
	default:
		return math.NaN(), l.notANumber(cell)
	}
}

// atMost reads a cell such as <0.1.
func (c *cells) atMost(v float64, cell []byte) (float64, string) {
	switch {
	case math.IsNaN(c.limit):
		return c.limit, table.Quote(cell) + " is under a limit, which cannot be read where the drift is taken out of the values"
	case c.limit == 0:
		return math.NaN(), fmt.Sprintf("%s is under a limit; state the detection limit of the column, at least %v, to have it read", table.Quote(cell), v)
	case c.limit < v:
		return math.NaN(), fmt.Sprintf("%s may be over the detection limit stated, %v; accepted is one of at least %v", table.Quote(cell), c.limit, v)
	}
	c.under++
	return 0, ""
}

// atLeast reads a cell such as >500.
func (c *cells) atLeast(v float64, cell []byte) (float64, string) {
	switch {
	case math.IsInf(c.scale, 1):
		return math.NaN(), fmt.Sprintf("%s is over a range; state the full scale of the column, at most %v, to have it read", table.Quote(cell), v)
	case c.scale > v:
		return math.NaN(), fmt.Sprintf("%s may be under the full scale stated, %v; accepted is one of at most %v", table.Quote(cell), c.scale, v)
	}
	c.over++
	return v, ""
}

func (l *Log) notANumber(cell []byte) string {
	mark := "point"
	if l.rows.Mark() == ',' {
		mark = "comma"
	}
	return fmt.Sprintf("%s is not a number; accepted are a number with a decimal %s and without separators of thousands, and an empty cell for no reading",
		table.Quote(cell), mark)
}

// taken says which cells were read by what was stated of their column.
func (l *Log) taken() (notes []string) {
	for i, c := range l.cells {
		if c.under > 0 {
			notes = append(notes, fmt.Sprintf("%s, column %s: cells such as <0.1 were read as under the detection limit %v: %d", l.file, l.columns[i].Name, c.limit, c.under))
		}
		if c.over > 0 {
			notes = append(notes, fmt.Sprintf("%s, column %s: cells such as >500 were read as at or over the full scale %v: %d", l.file, l.columns[i].Name, c.scale, c.over))
		}
	}
	return notes
}

// Cautions says which columns have cells that cannot be read, and what that may do to averages. Complete after io.EOF.
func (l *Log) Cautions() (texts []string) {
	tell := func(u unread, column int, then string) {
		if u.n > 0 {
			texts = append(texts, fmt.Sprintf("%s, column %s: cells that are no number, such as %s, were taken as no reading: %d of %d rows. %s",
				l.file, l.columns[column].Name, u.example, u.n, l.Rows(), then))
		}
	}
	for i, c := range l.cells {
		tell(c.other, i, "An instrument that writes a word when it is over its range hides its highest values so, and averages may be too low.")
		tell(c.low, i, "They are the lowest values, and averages may be too high.")
	}
	return texts
}
