package trace

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/tailbound/service/table"
)

// Column is a column of a log that is not the time.
type Column struct {
	// Name is the header's without the unit.
	Name string
	// Unit stands in the header in brackets behind the name, as in "carbon monoxide (ppm)"; empty when there is none.
	Unit string
}

// LogOptions says how a logger's file is written, as far as it is known.
type LogOptions struct {
	table.Format
	// TimeColumn names the column of times, or those of dates and of times of day with a plus between them, as in "Date+Time". When it
	// is empty the time is in the first column that holds times, or in the first two that hold a date and a time of day.
	TimeColumn string
}

// Log reads a logger's file row by row: one column of times, or two of dates and times of day, and one for each channel, empty
// cells standing for no reading. How the file is written is found out where it is not stated. Empty lines, lines that begin with #,
// lines above the header and repetitions of the header are passed over.
type Log struct {
	file    string
	rows    *table.Reader
	clock   *table.Clock
	columns []Column
	// times are the time's places in a row, places those of the columns.
	times  []int
	places []int
	time   []byte
	// cells are what is known and was found of each column, bad what is wrong with those of the present row.
	cells []cells
	bad   []table.Reason
	// open is the number of a last line that was used although the file ended before it did; 0 when there is none.
	open int
}

// OpenLog reads the header. The error is a fault that names the file, or the failure of r.
func OpenLog(file string, r io.Reader, o LogOptions) (*Log, error) {
	var expect []string
	for name := range strings.SplitSeq(o.TimeColumn, "+") {
		if name = strings.ToLower(strings.TrimSpace(name)); name != "" {
			expect = append(expect, name)
		}
	}
	if len(expect) > 1 {
		expect = append(expect, strings.ToLower(strings.TrimSpace(o.TimeColumn)))
	}
	rows, err := table.Open(file, r, table.Options{Format: o.Format, Expect: expect})
	if err != nil {
		return nil, err
	}
	l := &Log{file: file, rows: rows}
	if err := l.findTime(o.TimeColumn); err != nil {
		return nil, err
	}
	if err := l.findColumns(); err != nil {
		return nil, err
	}
	if l.clock, err = rows.Clock(l.times...); err != nil {
		return nil, err
	}
	l.clock.Ascending()
	return l, nil
}

// findTime places the time.
func (l *Log) findTime(column string) error {
	if column == "" {
		l.times = l.rows.TimeColumns()
		return nil
	}
	if at := l.rows.Find(column); at >= 0 {
		l.times = []int{at}
		return nil
	}
	for name := range strings.SplitSeq(column, "+") {
		at := l.rows.Find(name)
		if at < 0 {
			return l.rows.HeaderPlace().Fault("", "has no column %s for the time", table.Quote(strings.TrimSpace(name)))
		}
		l.times = append(l.times, at)
	}
	return nil
}

// findColumns places the columns beside the time; case does not matter.
func (l *Log) findColumns() error {
	seen := map[string]bool{}
	for i, name := range l.rows.Header() {
		if name == "" || slices.Contains(l.times, i) {
			continue
		}
		column := columnOf(name)
		if seen[strings.ToLower(column.Name)] {
			return l.rows.HeaderPlace().Fault("", "has two columns %s", table.Quote(column.Name))
		}
		seen[strings.ToLower(column.Name)] = true
		l.columns, l.places, l.cells = append(l.columns, column), append(l.places, i), append(l.cells, newCells())
	}
	if len(l.columns) == 0 {
		return l.rows.HeaderPlace().Fault("", "has no column beside the time")
	}
	return nil
}

// columnOf takes the unit out of the header's cell.
func columnOf(cell string) Column {
	for _, brackets := range []string{"()", "[]"} {
		open := strings.LastIndex(cell, brackets[:1])
		if open < 0 {
			continue
		}
		unit, closed := strings.CutSuffix(cell[open+1:], brackets[1:])
		if name := strings.TrimSpace(cell[:open]); closed && name != "" {
			return Column{Name: name, Unit: strings.TrimSpace(unit)}
		}
	}
	return Column{Name: cell}
}

// Columns lists the columns beside the time, in the order of the values of a row.
func (l *Log) Columns() []Column { return slices.Clone(l.columns) }

// Header lists the names of all columns, in the order of the file.
func (l *Log) Header() []string { return l.rows.Header() }

// Rows counts the rows so far, those that cannot be used included.
func (l *Log) Rows() int64 { return l.rows.Rows() }

// Format says how the file is written.
func (l *Log) Format() table.Format { return l.rows.Format() }

// Guesses says what was found out rather than stated. Complete after io.EOF.
func (l *Log) Guesses() []table.Guess { return l.rows.Guesses() }

// Notes says what of the file was passed over. Complete after io.EOF.
func (l *Log) Notes() []string {
	notes := append(l.rows.Notes(), l.taken()...)
	if l.open > 0 {
		notes = append(notes, fmt.Sprintf("%s line %d: the file ends without the end of this line; if the instrument was cut off while writing, "+
			"its last value may be cut too", l.file, l.open))
	}
	return notes
}

// Next puts the next row into values, NaN for no reading, which has one for each column; a cell that cannot be read is no reading, and
// BadCells tells of it. The error is io.EOF at the end, a *table.BadRow that names file, line and reason (the next call goes on behind
// it), a fault when the row is another header, or the failure of the reader under it.
func (l *Log) Next(values []float64) (time.Time, error) {
	l.bad = l.bad[:0]
	row, at, err := l.row()
	if err != nil {
		return at, err
	}
	mark := l.rows.Mark()
	for i, place := range l.places {
		cell := bytes.TrimSpace(row[place])
		if len(cell) == 0 || l.cells[i].unused {
			values[i] = math.NaN()
			continue
		}
		v, ok := table.ParseNumber(cell, mark)
		if !ok || math.Abs(v) > largest || l.rows.Unsure(cell) {
			v = l.unusual(i, cell)
		}
		values[i] = v
	}
	if l.rows.Open() {
		l.open = l.rows.Place().Line
	}
	return at, nil
}

// row returns the cells of the next row that is not a repetition of the header, and its time.
func (l *Log) row() (row [][]byte, at time.Time, err error) {
	for {
		if row, err = l.rows.Next(); err != nil {
			return nil, at, err
		}
		cell := bytes.TrimSpace(row[l.times[0]])
		if len(l.times) > 1 {
			l.time = table.Join(l.time[:0], row, l.times)
			cell = bytes.TrimSpace(l.time)
		}
		at, wrong := l.clock.Time(cell)
		switch {
		case wrong == "":
			return row, at, nil
		case l.rows.Repeats(row):
			l.rows.Repeated()
		case l.rows.Renames(row, l.times...):
			return nil, at, l.rows.Renamed()
		default:
			return nil, at, l.rows.Place().Bad("", "%s", wrong)
		}
	}
}

// ReadAll hands the rows to take, one by one, and counts those that cannot be used, which are left out, and cells that are no reading
// because they cannot be read. A strict reading, and one of which nothing can be used, ends with a fault that lists them. values is
// good until take returns.
func (l *Log) ReadAll(strict bool, take func(at time.Time, values []float64) error) (*table.Rejected, error) {
	rejected := new(table.Rejected)
	values := make([]float64, len(l.columns))
	read := false
	for {
		at, err := l.Next(values)
		var bad *table.BadRow
		switch {
		case errors.Is(err, io.EOF):
			if strict || rejected.Rows == l.Rows() || rejected.Cells > 0 && !read {
				return rejected, rejected.Err()
			}
			return rejected, nil
		case errors.As(err, &bad):
			rejected.Add(bad)
		case err != nil:
			return rejected, err
		default:
			if bad := l.BadCells(); bad != nil {
				rejected.AddCells(bad)
			}
			read = read || slices.ContainsFunc(values, func(v float64) bool { return !math.IsNaN(v) })
			if err := take(at, values); err != nil {
				return rejected, err
			}
		}
	}
}

// FirstTime is the time of the first row that has one, in the zone that was stated; zoned says that its offset from UTC is written. For
// before the first call of Next.
func (l *Log) FirstTime() (at time.Time, zoned, found bool) { return l.rows.FirstTime(l.times...) }

// Place is where the present row stands.
func (l *Log) Place() table.Place { return l.rows.Place() }

// ParseTime reads a time that begins with the year, and says whether it is one; without a zone it is taken as UTC.
func ParseTime(text string) (time.Time, bool) { return table.ParseTime(text) }

// TimeIn reads a time as ParseTime does, without an offset as one of a zone; the text says what is wrong with it.
func TimeIn(text, zone string) (at time.Time, wrong string) { return table.TimeIn(text, zone) }
