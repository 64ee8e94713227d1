package reading

import (
	"io"
	"slices"
	"strings"

	"example.com/tailbound/service/fault"
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

// CSV reads a table of results row by row: UTF-8 text separated by commas, the first line naming the columns in any order
// and case. Required are zone, agent, result and unit; limit, subject, campaign, start, minutes and id may be there. A
// result is written as for ParseResult, a limit as for ParseLimit (without a unit it has the row's), a start as an RFC 3339
// time, a date with or without hours and minutes (taken as UTC). Lines that begin with # are comments.
type CSV struct {
	table *table
	// texts keeps one copy of each name, so that a million rows of ten zones hold ten strings.
	texts map[string]string
	// limits keeps one copy of each limit, by its text and the unit of its row.
	limits map[[2]string]*Limit
}

// NewCSV reads the header of the table. The error is a fault that lists everything wrong with the header, or the failure of r.
func NewCSV(file string, r io.Reader) (*CSV, error) {
	t, err := openTable(file, r, columnNames(), requiredColumns)
	if err != nil {
		return nil, err
	}
	return &CSV{table: t, texts: map[string]string{}, limits: map[[2]string]*Limit{}}, nil
}

// Notes says what of the table was not read: unknown columns, and comments that look like rows. Complete after io.EOF.
func (c *CSV) Notes() []string { return c.table.notes() }

// Read returns the next row. The error is io.EOF at the end, a fault that names file, line, column and reason when the row
// is wrong (the next call goes on behind it), or the failure of the reader under it.
func (c *CSV) Read() (Row, error) {
	place, err := c.table.next()
	if err != nil {
		return Row{}, err
	}
	var problems Problems
	row := Row{Place: place, Agent: c.text(columnAgent), Unit: Unit(c.text(columnUnit))}
	for _, required := range [...]int{columnAgent, columnUnit} {
		if c.table.cell(required) == "" {
			problems.Add(place.fault(c.table.known[required], "is empty"))
		}
	}
	c.result(&row, &problems)
	c.limit(&row, &problems)
	c.period(&row, &problems)
	return row, problems.Err()
}

// has says whether the table has a column.
func (c *CSV) has(name string) bool { return c.table.at[slices.Index(c.table.known, name)] >= 0 }

// text is the one copy of a cell's text.
func (c *CSV) text(column int) string {
	cell := c.table.cell(column)
	kept, found := c.texts[cell]
	if !found {
		kept = strings.Clone(cell)
		c.texts[kept] = kept
	}
	return kept
}

func (c *CSV) result(row *Row, problems *Problems) {
	r, err := ParseResult(c.table.cell(columnResult))
	if err != nil {
		problems.Add(row.at("result", err))
	}
	r.Zone, r.Subject, r.Campaign = c.text(columnZone), c.text(columnSubject), c.text(columnCampaign)
	r.ID = strings.Clone(c.table.cell(columnID))
	row.Reading = r
}

func (c *CSV) limit(row *Row, problems *Problems) {
	cell := c.table.cell(columnLimit)
	if cell == "" {
		return
	}
	key := [2]string{cell, string(row.Unit)}
	if row.Limit = c.limits[key]; row.Limit != nil {
		return
	}
	limit, err := ParseLimit(cell)
	if err != nil {
		problems.Add(row.at("limit", err))
		return
	}
	if limit.Unit == "" {
		limit.Unit = row.Unit
	}
	row.Limit = &limit
	c.limits[[2]string{strings.Clone(cell), string(row.Unit)}] = row.Limit
}

func (c *CSV) period(row *Row, problems *Problems) {
	var err error
	if cell := c.table.cell(columnStart); cell != "" {
		if row.Reading.Start, err = parseStart(cell); err != nil {
			problems.Add(row.at("start", err))
		}
	}
	if cell := c.table.cell(columnMinutes); cell != "" {
		if row.Reading.Duration, err = parseMinutes(cell); err != nil {
			problems.Add(row.at("minutes", err))
		}
	}
}

// at puts the place in front of a fault that names no field.
func (p Place) at(column string, err error) error {
	return fault.Under(p.String()+", column "+column, err)
}
