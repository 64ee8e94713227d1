package table

import (
	"bytes"
	"errors"
	"io"
)

const (
	// longestLine bounds the memory that one line takes, in bytes.
	longestLine = 1 << 20
	// sampleSize is how much of a file the guesses rest on, in bytes.
	sampleSize = 1 << 16
	// mostSampled is how many lines of it are taken apart.
	mostSampled = 400
)

var errTooLong = errors.New("is too long")

// lines cuts a text into lines.
type lines struct {
	from io.Reader
	// buffer holds what was read and not yet given out, from start to end.
	buffer     []byte
	start, end int
	// failure is what the reader under it said last, io.EOF included.
	failure error
	// mark ends a line.
	mark byte
	// line is the number of the present line, from 1; open says that the file ended before it did.
	line int
	open bool
	// zero says that a NUL byte was read, so that lines must be looked through for them.
	zero bool
}

func newLines(r io.Reader) *lines {
	l := &lines{from: r, buffer: make([]byte, sampleSize+4096), mark: '\n'}
	if sample := l.peek(sampleSize); bytes.IndexByte(sample, '\n') < 0 && bytes.IndexByte(sample, '\r') >= 0 {
		l.mark = '\r'
	}
	return l
}

// peek returns the next n bytes, or all there are, without giving them out.
func (l *lines) peek(n int) []byte {
	for l.end-l.start < n && l.failure == nil {
		l.fill()
	}
	return l.buffer[l.start:min(l.end, l.start+n)]
}

// fill reads more, in a larger buffer when this one is full.
func (l *lines) fill() {
	if l.end == len(l.buffer) {
		to := l.buffer
		if l.start < len(l.buffer)/2 {
			to = make([]byte, 2*len(l.buffer))
		}
		l.end = copy(to, l.buffer[l.start:l.end])
		l.start, l.buffer = 0, to
	}
	const tries = 100
	for range tries {
		n, err := l.from.Read(l.buffer[l.end:])
		l.zero = l.zero || bytes.IndexByte(l.buffer[l.end:l.end+n], 0) >= 0
		l.end += n
		if l.failure = err; n > 0 || err != nil {
			return
		}
	}
	l.failure = io.ErrNoProgress
}

// next returns the next line without its end. It is good until the next call. The error is io.EOF at the end, errTooLong for a
// line that was passed over, or the failure of the reader.
func (l *lines) next() ([]byte, error) {
	seen := 0
	for {
		if i := bytes.IndexByte(l.buffer[l.start+seen:l.end], l.mark); i >= 0 {
			line := l.buffer[l.start : l.start+seen+i]
			l.start += seen + i + 1
			l.line++
			return line, nil
		}
		seen = l.end - l.start
		switch {
		case l.failure != nil:
			return l.last()
		case seen > longestLine:
			return nil, l.passOver()
		}
		l.fill()
	}
}

// last returns the last line, which has no end, if there is one.
func (l *lines) last() ([]byte, error) {
	if l.start == l.end || !errors.Is(l.failure, io.EOF) {
		return nil, l.failure
	}
	line := l.buffer[l.start:l.end]
	l.start, l.open = l.end, true
	l.line++
	return line, nil
}

// passOver drops the rest of a line that is too long.
func (l *lines) passOver() error {
	l.line++
	for {
		if i := bytes.IndexByte(l.buffer[l.start:l.end], l.mark); i >= 0 {
			l.start += i + 1
			return errTooLong
		}
		l.start = l.end
		if l.failure != nil {
			l.open = true
			return errTooLong
		}
		l.fill()
	}
}

// skip passes over the next bytes, which are so many lines.
func (l *lines) skip(bytes, lines int) {
	l.start += bytes
	l.line += lines
}

// sampleLine is a line of the sample that is neither blank nor a comment.
type sampleLine struct {
	number int
	text   []byte
}

// sample returns the first lines within the next n bytes, or the first line when that is longer. They are good until the next call
// of next.
func (l *lines) sample(n, most int) []sampleLine {
	for ; ; n *= 2 {
		text := l.peek(n)
		whole := l.failure != nil && len(text) == l.end-l.start
		if out := l.cut(text, whole, most); len(out) > 0 || whole || n > longestLine {
			return out
		}
	}
}

// sampleBehind is sample for the lines behind a line, as many as the bytes hold.
func (l *lines) sampleBehind(line, n int) []sampleLine {
	rows := l.sample(n, n)
	for len(rows) > 0 && rows[0].number <= line {
		rows = rows[1:]
	}
	return rows
}

// cut takes a text apart; the last line counts only when the text is whole.
func (l *lines) cut(text []byte, whole bool, most int) []sampleLine {
	var out []sampleLine
	for number := l.line + 1; len(text) > 0 && len(out) < most; number++ {
		line, rest, ended := bytes.Cut(text, []byte{l.mark})
		if !ended && !whole {
			break
		}
		if line = trimLine(line); len(bytes.Trim(line, ",;|\t ")) > 0 && line[0] != '#' {
			out = append(out, sampleLine{number, line})
		}
		text = rest
	}
	return out
}

// trimLine takes off what may stand at the end of a line and is no part of a cell.
func trimLine(line []byte) []byte {
	n := len(line)
	for n > 0 && (line[n-1] == '\r' || line[n-1] == ' ') {
		n--
	}
	return line[:n]
}
