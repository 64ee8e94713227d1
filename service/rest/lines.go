package rest

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// errLongLine says that a line was longer than accepted and has been skipped.
var errLongLine = errors.New("rest: line too long")

// lines reads the lines of a body one at a time, none longer than longest.
type lines struct {
	from    *bufio.Reader
	longest int
	// number is that of the line last returned, from 1, blank ones counted.
	number int
	line   []byte
}

func newLines(r io.Reader, longest int) *lines {
	const buffer = 64 << 10
	return &lines{from: bufio.NewReaderSize(r, buffer), longest: longest}
}

// next returns the next line that is not blank, without its end; the bytes are good until the call after. It returns io.EOF
// after the last line, which may lack its newline, and errLongLine for a line that it skipped.
func (l *lines) next() ([]byte, error) {
	for {
		err := l.read()
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
		if line := bytes.TrimSpace(l.line); len(line) > 0 {
			return line, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// read puts the next line into l.line. It returns io.EOF with what stood before the end of the body.
func (l *lines) read() error {
	l.line, l.number = l.line[:0], l.number+1
	for {
		part, err := l.from.ReadSlice('\n')
		if len(l.line)+len(bytes.TrimRight(part, "\r\n")) > l.longest {
			l.line = nil
			return l.skip(err)
		}
		l.line = append(l.line, part...)
		if !errors.Is(err, bufio.ErrBufferFull) {
			return err
		}
	}
}

// skip drops the rest of a line, of which a part was read with the result err.
func (l *lines) skip(err error) error {
	for errors.Is(err, bufio.ErrBufferFull) {
		_, err = l.from.ReadSlice('\n')
	}
	if err == nil || errors.Is(err, io.EOF) {
		return errLongLine
	}
	return err
}
