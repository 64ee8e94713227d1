package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"example.com/tailbound/service/fault"
)

// Reader reads a table row by row. It is not safe for concurrent use.
type Reader struct {
	file     string
	format   Format
	guesses  []Guess
	lines    *lines
	splitter splitter
	decoded  bool
	// pointed says that a number of the sample has a decimal point; unmarked that none has decimals, so that the mark is not known.
	pointed, unmarked bool
	// numbers are the places of the columns that hold numbers, none when they are not known.
	numbers []int
	// raw is the line of the header, titles how many lines stand above it.
	raw        []byte
	header     []string
	headerLine int
	titles     int
	unnamed    []int
	clock      *Clock
	rows       int64
	repeated   int
	// extra is how many lines the present row takes beside its first.
	extra int
	// wide is the number of cells of every row of the sample, those behind the last of the header being empty; 0 when they are not.
	wide int
	// suspects are comments that look like rows, at most mostSuspects of them.
	suspects []int
}

// mostSuspects is how many comments that look like rows are named.
const mostSuspects = 20

// Open reads the header. The error is a fault that says what is wrong with the options or the header, or the failure of r.
func Open(file string, r io.Reader, o Options) (*Reader, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	t := &Reader{file: file, format: o.Format}
	text, encoding, guess, err := decode(r, o.Encoding)
	if fault.CodeOf(err) == fault.InvalidArgument {
		return nil, fault.Under(file, err)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	t.format.Encoding, t.decoded = encoding, encoding != utf8Name
	if guess != nil {
		t.guesses = append(t.guesses, *guess)
	}
	t.lines = newLines(text)
	sample := t.lines.sample(sampleSize, mostSampled)
	l := t.findLayout(sample, o.Expect)
	t.splitter.delimiter = l.delimiter
	if l.headless {
		return nil, t.place(sample[l.header].number).Fault("", "is a row; the first line must be a header that names the columns")
	}
	first := 0
	if len(sample) > 0 {
		first = sample[l.header].number
	}
	if len(sample) > 0 {
		t.numbers = t.placesOf(sample[l.header].text, o.Numbers)
	}
	if err := t.findMark(sample[min(l.header+1, len(sample)):], first); err != nil {
		return nil, err
	}
	if err := t.readHeader(first, o.Required); err != nil {
		return nil, err
	}
	t.wide = t.findWide()
	return t, nil
}

// readHeader passes over the lines above the header, which is the first at or behind a line, and takes its cells.
func (t *Reader) readHeader(first int, required []string) error {
	for {
		line, err := t.line()
		switch {
		case errors.Is(err, io.EOF):
			text := "is empty; the first line names the columns"
			if len(required) > 0 {
				text += ", of which " + List(required) + " are required"
			}
			return t.place(0).Fault("", "%s", text)
		case errors.Is(err, errTooLong):
			return t.place(t.lines.line).Fault("", "has more than %d bytes", longestLine)
		case err != nil:
			return err
		case t.lines.line < first:
			t.titles++
			continue
		}
		t.raw, t.headerLine = bytes.Clone(line), t.lines.line
		cells, err := t.splitter.split(line)
		if err != nil {
			return t.present().Fault("", "%s", quoteText(err))
		}
		for i, cell := range cells {
			if t.decoded && bytes.Contains(cell, []byte(string(utf8.RuneError))) {
				return t.present().Fault("", "holds a character that %s does not have", t.format.Encoding)
			}
			if !utf8.Valid(cell) || bytes.IndexByte(cell, 0) >= 0 {
				return t.present().Fault("", "holds %s in column %d, which is not %s text; state the encoding of the file", Quote(cell), i+1, t.format.Encoding)
			}
			name := string(bytes.TrimSpace(cell))
			if name == "" {
				t.unnamed = append(t.unnamed, i)
			}
			t.header = append(t.header, name)
		}
		return nil
	}
}

// line returns the next line that is neither blank nor a comment, without its end. It is good until the next call.
func (t *Reader) line() ([]byte, error) {
	for {
		line, err := t.lines.next()
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, errTooLong) {
				err = fmt.Errorf("%s: %w", t.file, err)
			}
			return nil, err
		}
		line = trimLine(line)
		switch {
		case len(line) == 0:
		case line[0] == '#':
			t.suspect(line)
		case line[0] <= ' ' || line[0] == t.splitter.delimiter:
			if !t.blank(line) {
				return line, nil
			}
		default:
			return line, nil
		}
	}
}

func (t *Reader) blank(line []byte) bool {
	for len(line) > 0 {
		if line[0] == t.splitter.delimiter {
			line = line[1:]
			continue
		}
		cell, rest, _ := bytes.Cut(line, []byte{t.splitter.delimiter})
		if len(bytes.TrimSpace(cell)) > 0 {
			return false
		}
		line = rest
	}
	return true
}

// suspect remembers a comment behind the header that holds as many delimiters as it does.
func (t *Reader) suspect(line []byte) {
	if len(t.header) > 1 && len(t.suspects) < mostSuspects && bytes.Count(line, []byte{t.splitter.delimiter}) == len(t.header)-1 {
		t.suspects = append(t.suspects, t.lines.line)
	}
}

// Next returns the cells of the next row, one for each column of the header, with the spaces around them. They are good until
// the next call. The error is io.EOF at the end, a *BadRow (the next call goes on behind it), a fault when the row is another header
// (nothing behind it may be read by the first), or the failure of the reader.
func (t *Reader) Next() ([][]byte, error) {
	t.extra = 0
	line, err := t.line()
	for err == nil && bytes.Equal(line, t.raw) {
		t.repeated++
		line, err = t.line()
	}
	switch {
	case errors.Is(err, errTooLong):
		t.rows++
		return nil, t.present().Bad("", "has more than %d bytes", longestLine)
	case err != nil:
		return nil, err
	}
	t.rows++
	if t.lines.zero && bytes.IndexByte(line, 0) >= 0 {
		return nil, t.present().Bad("", "holds NUL bytes, as when an instrument lost its power while writing")
	}
	if t.decoded && bytes.Contains(line, []byte(string(utf8.RuneError))) {
		return nil, t.present().Bad("", "holds a character that %s does not have", t.format.Encoding)
	}
	cells, err := t.splitter.split(line)
	if errors.Is(err, errOpenQuote) {
		cells, err = t.continued(line)
	}
	if err != nil {
		return nil, t.present().Bad("", "%s", quoteText(err))
	}
	if len(cells) == len(t.header) && len(t.unnamed) == 0 {
		return cells, nil
	}
	return t.fit(cells)
}

// findWide looks for rows that all end in more empty cells than the header. One such row alone may as well have a decimal comma
// between two cells, and rows separated by commas may all have one, unless a number has a point.
func (t *Reader) findWide() int {
	if t.format.Delimiter == "," && !t.pointed {
		return 0
	}
	wide := 0
	for _, line := range t.lines.sample(sampleSize, mostSampled) {
		cells, err := t.splitter.split(line.text)
		if err != nil || wide > 0 && len(cells) != wide || len(cells) <= len(t.header) || !emptyFrom(cells, len(t.header)) {
			return 0
		}
		wide = len(cells)
	}
	if wide > 0 {
		t.guessf(false, "Every row ends in empty cells without a column, which were passed over.")
	}
	return wide
}

func emptyFrom(cells [][]byte, from int) bool {
	for _, cell := range cells[from:] {
		if len(bytes.TrimSpace(cell)) > 0 {
			return false
		}
	}
	return true
}

// fit gives a row as many cells as the header has, when the difference is empty.
func (t *Reader) fit(cells [][]byte) ([][]byte, error) {
	width := len(t.header)
	if len(cells) == t.wide && emptyFrom(cells, width) {
		cells = cells[:width]
	}
	for len(cells) < width && !t.lines.open && t.header[len(cells)] == "" {
		cells = append(cells, nil)
	}
	if t.Renames(cells) {
		return nil, t.Renamed()
	}
	switch {
	case len(cells) < width && t.lines.open:
		return nil, t.present().Bad("", "is cut off: the file ends within this line, as when a card is pulled out while logging")
	case len(cells) > width:
		return nil, t.present().Bad("", "has %d cells where the header has %d; a number with a decimal comma, or a delimiter in a text without quotes, "+
			"makes one too many", len(cells), width)
	case len(cells) < width:
		return nil, t.present().Bad("", "has %d cells where the header has %d", len(cells), width)
	}
	for _, i := range t.unnamed {
		if len(bytes.TrimSpace(cells[i])) > 0 {
			return nil, t.present().Bad("", "has %s in column %d, which has no name in the header", Quote(cells[i]), i+1)
		}
	}
	return cells, nil
}

// mostContinued is how many further lines a row may take whose cell in quotes holds ends of lines.
const mostContinued = 16

// continued puts a row together whose cell in quotes holds ends of lines. Only what makes a row of the right width is taken: a
// quote that was never meant to open must cost one row and not the rest of the file.
func (t *Reader) continued(line []byte) ([][]byte, error) {
	whole := bytes.Clone(line)
	text, used := t.lines.peek(longestLine), 0
	for n := 1; n <= mostContinued && used < len(text); n++ {
		part, _, _ := bytes.Cut(text[used:], []byte{t.lines.mark})
		used += len(part) + 1
		whole = append(append(whole, '\n'), trimLine(part)...)
		if bytes.IndexByte(part, '"') < 0 {
			continue
		}
		cells, err := t.splitter.split(whole)
		if errors.Is(err, errOpenQuote) {
			continue
		}
		if err != nil || len(cells) != len(t.header) {
			break
		}
		t.lines.skip(min(used, len(text)), n)
		t.extra = n
		return cells, nil
	}
	return nil, errOpenQuote
}

func quoteText(err error) string {
	if errors.Is(err, errOpenQuote) {
		return err.Error() + "; a quote that belongs to a text stands in quotes and is written twice"
	}
	return err.Error()
}

func (t *Reader) place(line int) Place { return Place{t.file, line} }

func (t *Reader) present() Place { return t.place(t.lines.line - t.extra) }

// Place is where the present row stands.
func (t *Reader) Place() Place { return t.present() }

// Open says that the file ended before the end of the present line, so that its last cell may be cut.
func (t *Reader) Open() bool { return t.lines.open }

// HeaderPlace is where the header stands.
func (t *Reader) HeaderPlace() Place { return t.place(t.headerLine) }

// Header lists the names of the columns, without the spaces around them.
func (t *Reader) Header() []string { return slices.Clone(t.header) }

// Rows counts the rows so far, those that cannot be used included.
func (t *Reader) Rows() int64 { return t.rows }

// Mark is the decimal mark.
func (t *Reader) Mark() byte { return t.format.DecimalMark[0] }

func (t *Reader) guessf(usual bool, format string, args ...any) {
	t.guesses = append(t.guesses, Guess{Text: fmt.Sprintf(format, args...), Usual: usual})
}

// Format says how the file was read. The order of dates is that of the Clock, year-month-day without one.
func (t *Reader) Format() Format {
	f := t.format
	if f.DateOrder == "" {
		f.DateOrder = yearMonthDay
	}
	if f.TimeZone == "" {
		f.TimeZone = "UTC"
	}
	return f
}

// Guesses says what was found out rather than stated. Complete after io.EOF.
func (t *Reader) Guesses() []Guess {
	guesses := slices.Clone(t.guesses)
	if t.clock != nil && t.clock.unzoned > 0 && t.format.TimeZone == "" {
		guesses = append(guesses, Guess{Text: "Times without a zone were taken as UTC.", Usual: t.clock.order == ""})
	}
	return guesses
}

// Notes says what of the file was passed over. Complete after io.EOF.
func (t *Reader) Notes() []string {
	var notes []string
	if t.titles > 0 {
		lines, were := plural(t.titles)
		notes = append(notes, fmt.Sprintf("%s: %d %s above the header, which is on line %d, %s skipped", t.file, t.titles, lines, t.headerLine, were))
	}
	if t.repeated > 0 {
		lines, were := plural(t.repeated)
		notes = append(notes, fmt.Sprintf("%s: the header is repeated on %d %s, which %s passed over", t.file, t.repeated, lines, were))
	}
	for _, line := range t.suspects {
		notes = append(notes, fmt.Sprintf("%v: begins with # and was skipped as a comment, though it looks like a row; put its first "+
			"cell in quotes to have it read", t.place(line)))
	}
	if t.clock != nil {
		notes = append(notes, t.clock.notes(t.file)...)
	}
	return notes
}

func plural(n int) (lines, were string) {
	if n == 1 {
		return "line", "was"
	}
	return "lines", "were"
}

// Find returns the place of a column by its name, without regard to case; -1 when there is none.
func (t *Reader) Find(name string) int {
	return slices.IndexFunc(t.header, func(have string) bool { return strings.EqualFold(have, strings.TrimSpace(name)) })
}
