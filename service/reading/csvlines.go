package reading

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// byteOrderMark is what spreadsheets write before UTF-8 text.
const byteOrderMark = "\uFEFF"

// lines passes a table on line by line: a byte-order mark is dropped and a comment line (one that starts with # outside
// quotes) becomes an empty line, which the CSV reader skips without losing count of the lines.
type lines struct {
	from *bufio.Reader
	// failure is what went wrong while looking for a byte-order mark.
	failure error
	// rest is what is left of the current line.
	rest []byte
	// line is the number of the current line, from 1.
	line int
	// atStart is false while a line longer than the buffer is being passed on.
	atStart bool
	// quoted is true while a quoted cell is open, in which a # means nothing.
	quoted bool
	// comment is true while the rest of a long comment line is being dropped.
	comment bool
	// commas is the number of commas in the header, -1 before it.
	commas int
	// suspects are the comment lines after the header that hold as many commas as it does.
	suspects []int
}

func newLines(r io.Reader) *lines {
	l := &lines{from: bufio.NewReaderSize(r, 1<<16), atStart: true, commas: -1}
	mark, err := l.from.Peek(len(byteOrderMark))
	if err != nil && !errors.Is(err, io.EOF) {
		l.failure = err
	}
	if string(mark) == byteOrderMark {
		_, _ = l.from.Discard(len(byteOrderMark))
	}
	return l
}

// Read implements io.Reader.
func (l *lines) Read(p []byte) (int, error) {
	if l.failure != nil {
		return 0, l.failure
	}
	if len(l.rest) == 0 {
		if err := l.next(); err != nil {
			return 0, err
		}
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// next fetches the next line, or the next part of one that is longer than the buffer.
func (l *lines) next() error {
	part, err := l.from.ReadSlice('\n')
	whole := !errors.Is(err, bufio.ErrBufferFull)
	if len(part) == 0 && whole {
		return err
	}
	if l.atStart {
		l.line++
		l.comment = !l.quoted && part[0] == '#'
		l.inspect(part)
	}
	l.atStart = whole
	l.rest = part
	switch {
	case !l.comment:
		if bytes.Count(part, []byte{'"'})%2 == 1 {
			l.quoted = !l.quoted
		}
	case whole:
		l.rest = []byte{'\n'}
	default:
		l.rest = nil
		return l.next()
	}
	return nil
}

// inspect counts the commas of the header and remembers comments that look like rows.
func (l *lines) inspect(part []byte) {
	commas := bytes.Count(part, []byte{','})
	switch {
	case !l.comment && l.commas < 0 && len(bytes.TrimSpace(part)) > 0:
		l.commas = commas
	case l.comment && l.commas > 0 && commas == l.commas:
		l.suspects = append(l.suspects, l.line)
	}
}
