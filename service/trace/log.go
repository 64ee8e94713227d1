package trace

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
)

// longestLine bounds the memory that one line takes, in bytes.
const longestLine = 1 << 20

// Column is a column of a log that is not the time.
type Column struct {
	// Name is the header's without the unit.
	Name string
	// Unit stands in the header in brackets behind the name, as in "carbon monoxide (ppm)"; empty when there is none.
	Unit string
}

// Log reads a logger's file row by row: UTF-8 text separated by commas, semicolons or tabs (the header shows which), one column
// of times and one for each channel, empty cells standing for no reading. Empty lines, lines that begin with # and repetitions
// of the header are passed over. Numbers have a decimal point. Times are those of RFC 3339 or like 2026-03-09 07:30:00; without
// a zone they are taken as UTC. A last line without its end that has too few cells, as when the card is pulled out while logging, is
// dropped and noted.
type Log struct {
	file      string
	from      *bufio.Reader
	separator byte
	header    []byte
	columns   []Column
	// at is the time's place in a row, places those of the columns, unnamed those whose cells must be empty.
	at      int
	places  []int
	unnamed []int
	cells   [][]byte
	// line is the number of the present line, from 1; open says that the file ended before it did.
	line int
	open bool
	// repeated counts the repetitions of the header; cut is the number of a last line that is not whole, 0 when there is none.
	repeated, cut int
}

// OpenLog reads the header. The time is in the column of that name; in the first when the name is empty. The error is a fault
// that names the file, or the failure of r.
func OpenLog(file string, r io.Reader, timeColumn string) (*Log, error) {
	l := &Log{file: file, from: bufio.NewReaderSize(r, 1<<16)}
	line, err := l.next()
	if errors.Is(err, io.EOF) {
		return nil, fault.Invalid(file, "is empty; the first line names the columns")
	}
	if err != nil {
		return nil, err
	}
	l.header = bytes.Clone(line)
	l.separator = separatorOf(line)
	names, err := l.split(line)
	if err != nil {
		return nil, err
	}
	return l, l.findColumns(names, timeColumn)
}

func separatorOf(header []byte) byte {
	for _, separator := range []byte{'\t', ';'} {
		if bytes.IndexByte(header, separator) >= 0 {
			return separator
		}
	}
	return ','
}

// findColumns places the columns; case does not matter.
func (l *Log) findColumns(names [][]byte, timeColumn string) error {
	found := false
	for i, cell := range names {
		name := string(bytes.TrimSpace(cell))
		isTime := !found && (timeColumn == "" && i == 0 || timeColumn != "" && strings.EqualFold(name, timeColumn))
		switch {
		case isTime:
			l.at, found = i, true
		case name == "":
			l.unnamed = append(l.unnamed, i)
		default:
			column := columnOf(name)
			if slices.ContainsFunc(l.columns, func(c Column) bool { return strings.EqualFold(c.Name, column.Name) }) {
				return l.fault("", "has two columns %q", column.Name)
			}
			l.columns, l.places = append(l.columns, column), append(l.places, i)
		}
	}
	switch {
	case !found:
		return l.fault("", "has no column %q for the time", timeColumn)
	case len(l.columns) == 0:
		return l.fault("", "has no column beside the time")
	}
	return nil
}

// columnOf takes the unit out of the header's cell.
func columnOf(cell string) Column {
	for _, brackets := range []string{"()", "[]"} {
		before, rest, open := strings.Cut(cell, brackets[:1])
		unit, closed := strings.CutSuffix(rest, brackets[1:])
		if name := strings.TrimSpace(before); open && closed && name != "" {
			return Column{Name: name, Unit: strings.TrimSpace(unit)}
		}
	}
	return Column{Name: cell}
}

// Columns lists the columns beside the time, in the order of the values of a row.
func (l *Log) Columns() []Column { return slices.Clone(l.columns) }

// Line is the number of the line last read, from 1.
func (l *Log) Line() int { return l.line }

// Notes says what of the file was passed over. Complete after io.EOF.
func (l *Log) Notes() []string {
	var notes []string
	if l.repeated > 0 {
		notes = append(notes, fmt.Sprintf("%s: the header is repeated on %d lines, which were passed over", l.file, l.repeated))
	}
	if l.cut > 0 {
		notes = append(notes, fmt.Sprintf("%s line %d: the file ends within this line, which was dropped", l.file, l.cut))
	}
	return notes
}

// Next puts the next row into values, NaN for no reading, which has one for each column. The error is io.EOF at the end, a
// fault that names file, line, column and reason when the row is wrong, or the failure of the reader under it.
func (l *Log) Next(values []float64) (time.Time, error) {
	line, err := l.next()
	for err == nil && bytes.Equal(line, l.header) {
		l.repeated++
		line, err = l.next()
	}
	if err != nil {
		return time.Time{}, err
	}
	width := len(l.columns) + len(l.unnamed) + 1
	cells, err := l.split(line)
	if err != nil {
		return time.Time{}, err
	}
	if len(cells) < width && l.open {
		l.cut = l.line
		return time.Time{}, io.EOF
	}
	if len(cells) != width {
		return time.Time{}, l.fault("", "has %d cells; the header has %d", len(cells), width)
	}
	for _, place := range l.unnamed {
		if len(bytes.TrimSpace(cells[place])) > 0 {
			return time.Time{}, l.fault("", "has %q in a column without a name", cells[place])
		}
	}
	at, ok := parseTime(bytes.TrimSpace(cells[l.at]))
	if !ok {
		return time.Time{}, l.fault("", "%q is not a time; accepted are 2026-03-09 07:30:00 and 2026-03-09T07:30:00+01:00", cells[l.at])
	}
	for i, place := range l.places {
		v, ok := parseValue(bytes.TrimSpace(cells[place]))
		if !ok {
			return time.Time{}, l.fault(l.columns[i].Name, "%q is not a number; accepted are a number with a decimal point, and an empty cell for no reading",
				cells[place])
		}
		values[i] = v
	}
	return at, nil
}

// next returns the next line that is neither empty nor a comment, without its end. It is good until the next call.
func (l *Log) next() ([]byte, error) {
	for {
		line, err := l.readLine()
		if err != nil {
			return nil, err
		}
		if len(line) > 0 && line[0] != '#' {
			return line, nil
		}
	}
}

func (l *Log) readLine() ([]byte, error) {
	line, err := l.from.ReadSlice('\n')
	l.line++
	if errors.Is(err, bufio.ErrBufferFull) {
		line, err = l.longLine(line)
	}
	if err != nil && (!errors.Is(err, io.EOF) || len(line) == 0) {
		return nil, err
	}
	l.open = err != nil
	if l.line == 1 {
		line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
		if bytes.HasPrefix(line, []byte("\xff\xfe")) || bytes.HasPrefix(line, []byte("\xfe\xff")) {
			return nil, l.fault("", "is text in UTF-16; accepted is UTF-8")
		}
	}
	return bytes.TrimRight(line, " \r\n"), nil
}

// longLine puts a line longer than the buffer together.
func (l *Log) longLine(start []byte) ([]byte, error) {
	line := bytes.Clone(start)
	for {
		part, err := l.from.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > longestLine {
			return nil, l.fault("", "has more than %d bytes", longestLine)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, err
		}
	}
}

// split cuts a line into cells, which are good until the next call.
func (l *Log) split(line []byte) ([][]byte, error) {
	l.cells = l.cells[:0]
	if bytes.IndexByte(line, '"') >= 0 {
		return l.splitQuoted(line)
	}
	for {
		i := bytes.IndexByte(line, l.separator)
		if i < 0 {
			l.cells = append(l.cells, line)
			return l.cells, nil
		}
		l.cells = append(l.cells, line[:i])
		line = line[i+1:]
	}
}

func (l *Log) splitQuoted(line []byte) ([][]byte, error) {
	r := csv.NewReader(bytes.NewReader(line))
	r.Comma = rune(l.separator)
	cells, err := r.Read()
	if err != nil {
		return nil, l.fault("", "has quotes that do not match")
	}
	for _, cell := range cells {
		l.cells = append(l.cells, []byte(cell))
	}
	return l.cells, nil
}

func (l *Log) fault(column, format string, args ...any) error {
	field := fmt.Sprintf("%s line %d", l.file, l.line)
	if column != "" {
		field += ", column " + column
	}
	return fault.Invalid(field, format, args...)
}

// parseValue reads a number as an instrument writes one: no hexadecimal, no infinity, no separators.
func parseValue(cell []byte) (float64, bool) {
	if len(cell) == 0 {
		return math.NaN(), true
	}
	return parseNumber(cell)
}
