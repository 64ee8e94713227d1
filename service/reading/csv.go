package reading

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// The columns of the table of results, in the order of their names below.
const (
	columnZone = iota
	columnAgent
	columnResult
	columnUnit
	columnLimit
	columnSubject
	columnCampaign
	columnStart
	columnMinutes
	columnID
)

// requiredColumns is how many of the columns a table must have: zone, agent, result and unit.
const requiredColumns = 4

func columnNames() []string {
	return []string{"zone", "agent", "result", "unit", "limit", "subject", "campaign", "start", "minutes", "id"}
}

// Place is where something stands in a file.
type Place = table.Place

// Source says how a table is written, as far as it is known, and how it is to be read.
type Source struct {
	table.Format
	// Columns names, for columns that are not called by their own names, what they hold: zone, agent, result, unit, limit, subject,
	// campaign, start, minutes or id, each with the name of its column in the header.
	Columns map[string]string
	// Unit is that of results whose row states none. When it is not empty, the column unit need not be there.
	Unit Unit
	// Strict refuses the whole table when one row is bad, instead of leaving the row out.
	Strict bool
}

// Row is one line of a table of results.
type Row struct {
	Place
	Agent string
	// Unit is that of the reading.
	Unit    Unit
	Reading Reading
	// Limit is nil when the row states none.
	Limit *Limit
}

// CSV reads a table of results row by row; the header names the columns in any order and case. Required are zone, agent, result
// and unit; limit, subject, campaign, start, minutes and id may be there. A result is written as for ParseResult, with the
// decimal mark of the file, a limit as for ParseLimit (without a unit it has the row's), a start as a time or a day. Lines that
// begin with # are comments.
type CSV struct {
	columns *columns
	source  Source
	clock   *table.Clock
	// texts keeps one copy of each name, so that a million rows of ten zones hold ten strings.
	texts map[string]string
	// open is the number of a last line that was used although the file ended before it did, in a number; 0 when there is none.
	open int
	// limits keeps one copy of each limit, by the unit of its row and its text.
	limits map[Unit]map[string]*Limit
}

// NewCSV reads the header of the table. The error is a fault that lists everything wrong with the header, or the failure of r.
func NewCSV(file string, r io.Reader, s Source) (*CSV, error) {
	required := requiredColumns
	if s.Unit != "" {
		required = columnUnit
	}
	columns, err := openColumns(file, r, s, columnNames(), required)
	if err != nil {
		return nil, err
	}
	c := &CSV{columns: columns, source: s, texts: map[string]string{}, limits: map[Unit]map[string]*Limit{}}
	if at := columns.at[columnStart]; at >= 0 {
		if c.clock, err = columns.rows.Clock(at); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// Notes says what of the table was not read: unknown columns, and comments that look like rows. Complete after io.EOF.
func (c *CSV) Notes() []string {
	notes := c.columns.notes()
	if c.open > 0 {
		notes = append(notes, fmt.Sprintf("%s line %d: the file ends without the end of this line; if it was cut off, its last number may be cut too", c.columns.file, c.open))
	}
	return notes
}

// Read returns the next row. The error is io.EOF at the end, a *table.BadRow when the row is wrong (the next call goes on behind
// it), a fault when it is another header, which no row behind it may be read by, or the failure of the reader under it.
func (c *CSV) Read() (Row, error) {
	for {
		if err := c.columns.next(); err != nil {
			return Row{}, err
		}
		row, wrong := c.row()
		switch rows := c.columns.rows; {
		case len(wrong) == 0:
			if rows.Open() && c.endsInNumber() {
				c.open = row.Line
			}
			return row, nil
		case rows.Repeats(c.columns.row):
			rows.Repeated()
		case rows.Renames(c.columns.row, c.columns.at[columnResult]):
			return row, rows.Renamed()
		default:
			return row, &table.BadRow{Place: row.Place, Reasons: wrong}
		}
	}
}

// endsInNumber says that the last cell of a row is a number, which looks as right when it is cut.
func (c *CSV) endsInNumber() bool {
	last := len(c.columns.row) - 1
	return last == c.columns.at[columnResult] || last == c.columns.at[columnMinutes] || last == c.columns.at[columnLimit]
}

// row takes the cells of the present row, and lists what is wrong with them.
func (c *CSV) row() (Row, reasons) {
	row := Row{Place: c.columns.rows.Place(), Agent: c.text(columnAgent), Unit: Unit(c.text(columnUnit))}
	if row.Unit == "" {
		row.Unit = c.source.Unit
	}
	var wrong reasons
	if row.Agent == "" {
		wrong.add("agent", "is empty")
	}
	if row.Unit == "" {
		wrong.add("unit", "is empty")
	} else if _, err := number(string(row.Unit), '.'); err == nil {
		wrong.add("unit", "is a number; a number with a decimal comma is divided where cells are separated by commas")
	}
	c.result(&row, &wrong)
	c.limit(&row, &wrong)
	c.period(&row, &wrong)
	return row, wrong
}

// named calls the columns of a bad row by their names in the header, where those are mapped.
func (c *CSV) named(err error) error {
	var bad *table.BadRow
	if !errors.As(err, &bad) {
		return err
	}
	for i, reason := range bad.Reasons {
		if name := c.source.Columns[reason.Column]; name != "" {
			bad.Reasons[i].Column = strings.TrimSpace(name)
		}
	}
	return err
}

// reasons collects what is wrong with a row.
type reasons []table.Reason

func (r *reasons) add(column, text string) { *r = append(*r, table.Reason{Column: column, Text: text}) }

// has says whether the table has a column.
func (c *CSV) has(name string) bool { return c.columns.at[slices.Index(c.columns.known, name)] >= 0 }

// text is the one copy of a cell's text.
func (c *CSV) text(column int) string {
	cell := c.columns.cell(column)
	kept, found := c.texts[string(cell)]
	if !found {
		kept = string(cell)
		c.texts[kept] = kept
	}
	return kept
}

func (c *CSV) mark() byte { return c.columns.rows.Mark() }

func (c *CSV) result(row *Row, wrong *reasons) {
	cell := c.columns.cell(columnResult)
	r := plainResult(cell, c.mark())
	if low, high, _ := bytes.Cut(cell, []byte("..")); c.columns.rows.Unsure(low) || c.columns.rows.Unsure(high) {
		wrong.add("result", table.Unsettled(cell))
	} else if r.Check() != nil {
		var err error
		if r, err = parseResult(string(cell), c.mark()); err != nil {
			wrong.add("result", wordsOfFirst(err))
		}
	}
	r.Zone, r.Subject, r.Campaign = c.text(columnZone), c.text(columnSubject), c.text(columnCampaign)
	r.ID = string(c.columns.cell(columnID))
	row.Reading = r
}

func (c *CSV) limit(row *Row, wrong *reasons) {
	cell := c.columns.cell(columnLimit)
	if len(cell) == 0 {
		return
	}
	of := c.limits[row.Unit]
	if row.Limit = of[string(cell)]; row.Limit != nil {
		return
	}
	if c.columns.rows.Unsure(cell[:numberEnd(string(cell))]) {
		wrong.add("limit", table.Unsettled(cell))
		return
	}
	limit, err := parseLimit(string(cell), c.mark())
	if err != nil {
		wrong.add("limit", wordsOfFirst(err))
		return
	}
	if limit.Unit == "" {
		limit.Unit = row.Unit
	}
	row.Limit = &limit
	if of == nil {
		of = map[string]*Limit{}
		c.limits[row.Unit] = of
	}
	of[string(cell)] = row.Limit
}

func (c *CSV) period(row *Row, wrong *reasons) {
	if cell := c.columns.cell(columnStart); len(cell) > 0 {
		start, text := c.clock.Day(cell)
		if text != "" {
			wrong.add("start", text)
		}
		row.Reading.Start = start
	}
	if cell := c.columns.cell(columnMinutes); len(cell) > 0 {
		minutes, err := parseMinutes(string(cell), c.mark())
		if err != nil {
			wrong.add("minutes", wordsOfFirst(err))
		}
		row.Reading.Duration = minutes
	}
}

// plainResult reads a number, which most results are, without an allocation. What is none is no reading.
func plainResult(cell []byte, mark byte) Reading {
	v, ok := table.ParseNumber(cell, mark)
	if !ok {
		return Reading{}
	}
	return At(v)
}

// wordsOfFirst is the text of a fault about one thing, without the field.
func wordsOfFirst(err error) string {
	var f *fault.Error
	if errors.As(err, &f) && len(f.Violations) > 0 {
		return f.Violations[0].Text
	}
	return err.Error()
}

// Understood says how a table was read.
type Understood struct {
	table.Format
	// File is the name of the file.
	File string
	// Guesses says what was found out rather than stated.
	Guesses []table.Guess
	// Header lists the names of all columns, in the order of the file.
	Header []string
	// Columns says which column was taken for what.
	Columns map[string]string
	// Rows counts the rows, those that cannot be used included.
	Rows int64
}

// Understood says how the table was read. Complete after io.EOF.
func (c *CSV) Understood() Understood {
	rows := c.columns.rows
	u := Understood{
		Format: rows.Format(), File: c.columns.file, Guesses: rows.Guesses(), Header: rows.Header(), Columns: map[string]string{}, Rows: rows.Rows(),
	}
	for i, at := range c.columns.at {
		if at >= 0 {
			u.Columns[c.columns.known[i]] = u.Header[at]
		}
	}
	return u
}

// expected lists, in lower case, the names that the header of a source is recognized by.
func (s *Source) expected(known []string) []string {
	names := slices.Clone(known)
	for _, role := range slices.Sorted(maps.Keys(s.Columns)) {
		names = append(names, strings.ToLower(strings.TrimSpace(s.Columns[role])))
	}
	return names
}

// numbers lists, in lower case, the names of the columns that hold numbers.
func (s *Source) numbers() []string {
	names := []string{"result", "limit", "minutes"}
	for i, role := range names {
		if name := strings.ToLower(strings.TrimSpace(s.Columns[role])); name != "" {
			names[i] = name
		}
	}
	return names
}
