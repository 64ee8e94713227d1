package table

import (
	"bytes"
	"errors"
	"fmt"
)

var errOpenQuote = errors.New("opens a quote that does not close")

// splitter cuts lines into cells.
type splitter struct {
	delimiter byte
	cells     [][]byte
	// scratch holds cells whose quotes were taken off.
	scratch []byte
}

// split cuts a line into cells, which are good until the next call.
func (s *splitter) split(line []byte) ([][]byte, error) {
	s.cells = s.cells[:0]
	if bytes.IndexByte(line, '"') >= 0 {
		return s.splitQuoted(line)
	}
	for {
		i := bytes.IndexByte(line, s.delimiter)
		if i < 0 {
			s.cells = append(s.cells, line)
			return s.cells, nil
		}
		s.cells = append(s.cells, line[:i])
		line = line[i+1:]
	}
}

// splitQuoted cuts a line with quotes: a cell in quotes may hold the delimiter, and a quote written twice.
func (s *splitter) splitQuoted(line []byte) ([][]byte, error) {
	if cap(s.scratch) < len(line) {
		s.scratch = make([]byte, 0, 2*len(line))
	}
	s.scratch = s.scratch[:0]
	for at := 0; ; {
		cell, next, err := s.cell(line, at)
		if err != nil {
			return nil, err
		}
		s.cells = append(s.cells, cell)
		if next > len(line) {
			return s.cells, nil
		}
		at = next
	}
}

// cell reads one cell; next is behind the delimiter, more than the length of the line when there is none.
func (s *splitter) cell(line []byte, at int) (cell []byte, next int, err error) {
	open := at + spaces(line[at:])
	if open < len(line) && line[open] == '"' {
		return s.quoted(line, open+1)
	}
	end := at + bytes.IndexByte(line[at:], s.delimiter)
	if end < at {
		end = len(line)
	}
	if i := bytes.IndexByte(line[at:end], '"'); i >= 0 {
		return nil, 0, stray(at + i)
	}
	return line[at:end], end + 1, nil
}

// quoted reads a cell from behind its opening quote.
func (s *splitter) quoted(line []byte, i int) (cell []byte, next int, err error) {
	from := len(s.scratch)
	for ; i < len(line); i++ {
		if line[i] == '"' {
			if i+1 == len(line) || line[i+1] != '"' {
				break
			}
			i++
		}
		s.scratch = append(s.scratch, line[i])
	}
	if i == len(line) {
		return nil, 0, errOpenQuote
	}
	i += 1 + spaces(line[i+1:])
	if i < len(line) && line[i] != s.delimiter {
		return nil, 0, stray(i - 1)
	}
	return s.scratch[from:], i + 1, nil
}

// spaces counts those at the beginning.
func spaces(text []byte) int {
	n := 0
	for n < len(text) && text[n] == ' ' {
		n++
	}
	return n
}

func stray(at int) error {
	return fmt.Errorf(`has a stray " at character %d; a text that holds a quote stands in quotes and writes it twice`, at+1)
}
