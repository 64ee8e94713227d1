package reading

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"example.com/tailbound/service/fault"
)

// Place is where something stands in a file.
type Place struct {
	// File is the name of the file, as the caller gave it.
	File string
	// Line is counted from 1; 0 stands for the whole file.
	Line int
}

// String writes the place as people say it, such as "campaign.csv line 12".
func (p Place) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s line %d", p.File, p.Line)
}

// fault says what is wrong in a column at the place; an empty column stands for the whole line.
func (p Place) fault(column, format string, args ...any) *fault.Error {
	field := p.String()
	if column != "" {
		field += ", column " + column
	}
	return fault.Invalid(field, format, args...)
}

// table reads a CSV file row by row; its columns are found by the names in the header.
type table struct {
	file  string
	lines *lines
	csv   *csv.Reader
	// known are the names of the columns that mean something here, the required ones first.
	known []string
	// at is where each known column stands in a row; -1 when the table does not have it.
	at []int
	// unnamed are the positions of columns without a name, whose cells must be empty.
	unnamed []int
	// unknown are the names of the columns that mean nothing here.
	unknown []string
	width   int
	row     []string
}

// openTable reads the header. The error is a fault that lists everything wrong with it, or the failure of r.
func openTable(file string, r io.Reader, known []string, required int) (*table, error) {
	t := &table{file: file, lines: newLines(r), known: known, at: make([]int, len(known))}
	t.csv = csv.NewReader(t.lines)
	t.csv.FieldsPerRecord = -1
	t.csv.ReuseRecord = true
	cells, err := t.csv.Read()
	if errors.Is(err, io.EOF) {
		return nil, Place{File: file}.fault("", "is empty; the first line names the columns, of which %s are required",
			list(known[:required]))
	}
	if err != nil {
		return nil, t.failure(err)
	}
	line, _ := t.csv.FieldPos(0)
	return t, t.findColumns(cells, Place{file, line}, required)
}

// findColumns places the columns; case and surrounding spaces do not matter.
func (t *table) findColumns(cells []string, place Place, required int) error {
	if err := checkText(place, cells); err != nil {
		return err
	}
	t.width = len(cells)
	for i := range t.at {
		t.at[i] = -1
	}
	var problems Problems
	for i, cell := range cells {
		name := strings.TrimSpace(cell)
		known := slices.Index(t.known, strings.ToLower(name))
		switch {
		case name == "":
			t.unnamed = append(t.unnamed, i)
		case known < 0:
			t.unknown = append(t.unknown, name)
		case t.at[known] >= 0:
			problems.Add(place.fault(t.known[known], "stands twice, as columns %d and %d", t.at[known]+1, i+1))
		default:
			t.at[known] = i
		}
	}
	if missing := t.missing(required); len(missing) > 0 {
		problems.Add(place.fault("", "%s", t.missingText(cells, missing, required)))
	}
	return problems.Err()
}

func (t *table) missing(required int) []string {
	var missing []string
	for i, name := range t.known[:required] {
		if t.at[i] < 0 {
			missing = append(missing, name)
		}
	}
	return missing
}

// missingText says which columns are missing and guesses at why.
func (t *table) missingText(cells, missing []string, required int) string {
	for _, separator := range [...]struct{ mark, name string }{{";", "semicolons"}, {"\t", "tabs"}} {
		if len(cells) == 1 && strings.Count(cells[0], separator.mark) >= required-1 {
			return "separates its columns by " + separator.name + "; this version reads tables separated by commas"
		}
	}
	text := fmt.Sprintf("the header has no %s; required are %s", list(missing), list(t.known[:required]))
	if named := plausibleNames(t.unknown); len(named) > 0 {
		text += "; it has the unknown " + list(named)
	}
	return text
}

// plausibleNames keeps what may be the name of a column: in a file that is no table the header is a piece of prose.
func plausibleNames(unknown []string) []string {
	const most, longest = 8, 40
	var names []string
	for _, name := range unknown {
		if len(names) < most && len(name) <= longest {
			names = append(names, name)
		}
	}
	return names
}

// next moves to the next row that is not blank. The error is io.EOF at the end, a fault when the row cannot be read (the
// next call goes on behind it), or the failure of the reader.
func (t *table) next() (Place, error) {
	for {
		row, err := t.csv.Read()
		if errors.Is(err, io.EOF) {
			return Place{}, io.EOF
		}
		if err != nil {
			return Place{}, t.failure(err)
		}
		if blank(row) {
			continue
		}
		line, _ := t.csv.FieldPos(0)
		t.row = row
		place := Place{t.file, line}
		return place, t.check(place)
	}
}

func blank(row []string) bool {
	for _, cell := range row {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}

func (t *table) check(place Place) error {
	if err := checkText(place, t.row); err != nil {
		return err
	}
	if len(t.row) > t.width {
		return place.fault("", "has %d cells where the header has %d; a number with a decimal comma, or a comma in a text without "+
			"quotes, makes one too many", len(t.row), t.width)
	}
	if len(t.row) < t.width {
		return place.fault("", "has %d cells where the header has %d", len(t.row), t.width)
	}
	for _, i := range t.unnamed {
		if strings.TrimSpace(t.row[i]) != "" {
			return place.fault("", "has %q in column %d, which has no name in the header", t.row[i], i+1)
		}
	}
	return nil
}

// checkText refuses what is not UTF-8: a µ of another encoding would be a unit that nobody knows.
func checkText(place Place, row []string) error {
	for i, cell := range row {
		if !utf8.ValidString(cell) {
			return place.fault("", "holds %q in column %d, which is not UTF-8 text; save the table as UTF-8", cell, i+1)
		}
	}
	return nil
}

// cell is the text of a column of the current row, without the spaces around it; empty when the table lacks the column.
func (t *table) cell(known int) string {
	if i := t.at[known]; i >= 0 {
		return strings.TrimSpace(t.row[i])
	}
	return ""
}

// notes says what of the file was not read.
func (t *table) notes() []string {
	var notes []string
	if len(t.unknown) > 0 {
		notes = append(notes, fmt.Sprintf("%s: not read: column %s; known are %s", t.file, list(t.unknown), list(t.known)))
	}
	for _, line := range t.lines.suspects {
		notes = append(notes, fmt.Sprintf("%v: begins with # and was skipped as a comment, though it looks like a row; put its first "+
			"cell in quotes to have it read", Place{t.file, line}))
	}
	return notes
}

// failure turns an error of the CSV reader into a fault; the failure of the reader under it stays as it is.
func (t *table) failure(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return fmt.Errorf("%s: %w", t.file, err)
	}
	place := Place{t.file, p.StartLine}
	switch {
	case errors.Is(err, csv.ErrQuote) && p.Line > p.StartLine:
		return place.fault("", "opens a quote that does not close, so the file cannot be read from here to line %d", p.Line)
	case errors.Is(err, csv.ErrQuote), errors.Is(err, csv.ErrBareQuote):
		return place.fault("", `has a stray " at character %d; a text that holds a quote stands in quotes and writes it twice`, p.Column)
	}
	return place.fault("", "cannot be read: %v", p.Err)
}

// list writes names as people do: a, b and c.
func list(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
