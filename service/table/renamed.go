package table

import (
	"bytes"
	"slices"
	"strings"

	"example.com/tailbound/service/fault"
)

// Renames says that a row is a header of its own, as when an instrument was set up anew while it logged: it holds the names of two
// columns or more, or that of one of the columns stated in its place. A name that is a number is none, for a row holds numbers too.
func (t *Reader) Renames(cells [][]byte, columns ...int) bool {
	names, most := 0, 2
	for i, cell := range cells {
		name := bytes.TrimSpace(cell)
		if _, number := ParseNumber(name, '.'); len(name) == 0 || number || !slices.ContainsFunc(t.header, func(have string) bool { return strings.EqualFold(have, string(name)) }) {
			continue
		}
		names++
		if slices.Contains(columns, i) && i < len(t.header) && strings.EqualFold(t.header[i], string(name)) {
			return true
		}
	}
	return names >= most
}

// Repeats says that a row holds the names of all columns, each in its place, although it is not written as the header is.
func (t *Reader) Repeats(cells [][]byte) bool {
	return slices.EqualFunc(t.header, cells, func(have string, cell []byte) bool { return strings.EqualFold(have, string(bytes.TrimSpace(cell))) })
}

// Repeated counts the present row as a repetition of the header, in place of a row.
func (t *Reader) Repeated() {
	t.rows--
	t.repeated++
}

// Renamed is the fault of a file whose header changes: what the rows behind it hold is another thing in another order or unit, and
// none of it may be taken for what the first header says.
func (t *Reader) Renamed() *fault.Error {
	return t.present().Fault("", "names the columns otherwise than the header on line %d; divide the file there, so that each part has one header", t.headerLine)
}
