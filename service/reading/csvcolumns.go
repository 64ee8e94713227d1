package reading

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"example.com/tailbound/service/table"
)

// columns finds the columns of a table by the names in its header.
type columns struct {
	file string
	rows *table.Reader
	// known are the names of the columns that mean something here, the required ones first.
	known []string
	// at is where each known column stands in a row; -1 when the table does not have it.
	at []int
	// unknown are the names of the columns that mean nothing here.
	unknown []string
	row     [][]byte
}

// openColumns reads the header. The error is a fault that lists everything wrong with it, or the failure of r.
func openColumns(file string, r io.Reader, s Source, known []string, required int) (*columns, error) {
	rows, err := table.Open(file, r, table.Options{Format: s.Format, Expect: s.expected(known), Required: known[:required], Numbers: s.numbers()})
	if err != nil {
		return nil, err
	}
	c := &columns{file: file, rows: rows, known: known, at: make([]int, len(known))}
	return c, c.find(s.Columns, required)
}

// find places the columns; case and surrounding spaces do not matter. A column that is mapped is not looked for under its own
// name.
func (c *columns) find(mapped map[string]string, required int) error {
	var problems Problems
	place, header := c.rows.HeaderPlace(), c.rows.Header()
	for i := range c.at {
		c.at[i] = -1
	}
	roles := make([]int, len(header))
	for i, name := range header {
		roles[i] = slices.Index(c.known, strings.ToLower(name))
		if roles[i] >= 0 && mapped[c.known[roles[i]]] != "" {
			roles[i] = -1
		}
	}
	for _, role := range slices.Sorted(maps.Keys(mapped)) {
		name := strings.TrimSpace(mapped[role])
		known, at := slices.Index(c.known, role), c.rows.Find(name)
		switch {
		case known < 0:
			problems.Add(Place{File: c.file}.Fault("", "%s is not what a column can hold; accepted are %s", table.Quote(role), table.List(c.known)))
		case at < 0 || name == "":
			problems.Add(place.Fault("", "has no column %s to take as %s; it has %s", table.Quote(name), role, table.List(plausibleNames(header))))
		case slices.ContainsFunc(header[at+1:], func(have string) bool { return strings.EqualFold(have, name) }):
			problems.Add(place.Fault(name, "stands more than once, so which of them is the %s is not known", role))
		default:
			roles[at] = known
		}
	}
	for i, role := range roles {
		switch {
		case header[i] == "":
		case role < 0:
			c.unknown = append(c.unknown, header[i])
		case c.at[role] >= 0:
			problems.Add(place.Fault(c.known[role], "stands twice, as columns %d and %d", c.at[role]+1, i+1))
		default:
			c.at[role] = i
		}
	}
	if missing := c.missing(required, mapped); len(missing) > 0 {
		problems.Add(place.Fault("", "%s", c.missingText(missing, required)))
	}
	return problems.Err()
}

// missing lists the required columns that are neither there nor mapped to one that is not.
func (c *columns) missing(required int, mapped map[string]string) []string {
	var missing []string
	for i, name := range c.known[:required] {
		if c.at[i] < 0 && mapped[name] == "" {
			missing = append(missing, name)
		}
	}
	return missing
}

// missingText says which columns are missing and guesses at why.
func (c *columns) missingText(missing []string, required int) string {
	text := fmt.Sprintf("the header has no %s; required are %s", table.List(missing), table.List(c.known[:required]))
	if named := plausibleNames(c.unknown); len(named) > 0 {
		text += "; it has the unknown " + table.List(named)
	}
	return text
}

// plausibleNames keeps what may be the name of a column: in a file that is no table the header is a piece of prose.
func plausibleNames(unknown []string) []string {
	const most, longest = 8, 40
	var names []string
	for _, name := range unknown {
		if len(names) < most && len(name) <= longest && name != "" {
			names = append(names, name)
		}
	}
	return names
}

// firstOf lists names, not all of a great many.
func firstOf(names []string) string {
	const most = 20
	if len(names) <= most {
		return table.List(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}

// next moves to the next row. The error is io.EOF at the end, a *table.BadRow when the row cannot be read (the next call goes on
// behind it), or the failure of the reader.
func (c *columns) next() (err error) {
	if c.row, err = c.rows.Next(); err != nil {
		return err
	}
	// A µ of another encoding would be a unit that nobody knows.
	for i, cell := range c.row {
		if !utf8.Valid(cell) {
			return c.rows.Place().Bad("", "holds %s in column %d, which is not %s text; state the encoding of the file", table.Quote(cell), i+1, c.rows.Format().Encoding)
		}
	}
	return nil
}

// cell is the text of a column of the current row, without the spaces around it; empty when the table lacks the column.
func (c *columns) cell(known int) []byte {
	if i := c.at[known]; i >= 0 {
		return bytes.TrimSpace(c.row[i])
	}
	return nil
}

// notes says what of the file was not read.
func (c *columns) notes() []string {
	var notes []string
	if len(c.unknown) > 0 {
		notes = append(notes, fmt.Sprintf("%s: not read: column %s; known are %s", c.file, firstOf(c.unknown), table.List(c.known)))
	}
	return append(notes, c.rows.Notes()...)
}
