package table

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.com/tailbound/service/fault"
)

// mostTitles is how many lines may stand above the header.
const mostTitles = 64

// layout is what one delimiter makes of the sample.
type layout struct {
	delimiter byte
	// header is the place of the header among the lines of the sample; headless says that its first line is a row already.
	header   int
	headless bool
	// matches counts the expected names in the header.
	matches int
	// width is the number of cells of the header; agree counts the lines behind it that have as many, rows all of them.
	width, agree, rows int
}

// layoutOf finds the header for a delimiter: the first line with the most expected names; without any, the first line that has
// as many cells as the lines with a time.
func layoutOf(sample []sampleLine, delimiter byte, expect []string) layout {
	s := splitter{delimiter: delimiter}
	widths, filled := make([]int, len(sample)), make([]int, len(sample))
	l := layout{delimiter: delimiter}
	timed := map[int]int{}
	for i, line := range sample {
		cells, err := s.split(line.text)
		if err != nil {
			continue
		}
		widths[i], filled[i] = len(cells), countFilled(cells)
		if i < mostTitles {
			if n := countExpected(cells, expect); n > l.matches {
				l.matches, l.header = n, i
			}
		}
		if len(cells) > 1 && slices.ContainsFunc(cells, isTime) {
			timed[i] = len(cells)
		}
	}
	if l.matches == 0 && len(timed) > 0 {
		l.header, l.headless = headerAbove(timed, widths, filled)
	}
	if len(sample) > 0 {
		l.width = widths[l.header]
	}
	for _, width := range widths[min(l.header+1, len(widths)):] {
		l.rows++
		if width == l.width {
			l.agree++
		}
	}
	return l
}

// headerAbove finds the header by the lines that hold a time, of which most are rows: it is the line above the rows that has as many
// cells as they and the most names in them, the first such, or else the one just above the rows.
func headerAbove(timed map[int]int, widths, filled []int) (header int, headless bool) {
	width := usualWidth(timed)
	row := firstRow(timed, width)
	header = -1
	for i := range row {
		if widths[i] == width && timed[i] == 0 && (header < 0 || filled[i] > filled[header]) {
			header = i
		}
	}
	switch {
	case header >= 0:
		return header, false
	case row > 0 && timed[row-1] == 0:
		return row - 1, false
	case row > 0:
		return row - 1, true
	default:
		return 0, true
	}
}

// usualWidth is the number of cells that most of the lines with a time have.
func usualWidth(timed map[int]int) (usual int) {
	counts := map[int]int{}
	for _, width := range timed {
		counts[width]++
	}
	for _, width := range slices.Sorted(maps.Keys(counts)) {
		if counts[width] >= counts[usual] {
			usual = width
		}
	}
	return usual
}

// firstRow is the first line with a time that another follows, for a title may hold a time too.
func firstRow(timed map[int]int, width int) int {
	first := -1
	for _, i := range slices.Sorted(maps.Keys(timed)) {
		if timed[i] != width {
			continue
		}
		if timed[i+1] == width {
			return i
		}
		if first < 0 {
			first = i
		}
	}
	return first
}

func isTime(cell []byte) bool {
	_, ok := scan(bytes.TrimSpace(cell))
	return ok
}

func countFilled(cells [][]byte) (n int) {
	for _, cell := range cells {
		if len(bytes.TrimSpace(cell)) > 0 {
			n++
		}
	}
	return n
}

func countExpected(cells [][]byte, expect []string) (n int) {
	for _, cell := range cells {
		if slices.Contains(expect, strings.ToLower(string(bytes.TrimSpace(cell)))) {
			n++
		}
	}
	return n
}

// better compares what two delimiters make of the same lines.
func (l layout) better(o layout) bool {
	switch {
	case l.matches != o.matches:
		return l.matches > o.matches
	case (l.width > 1) != (o.width > 1):
		return l.width > 1
	case l.agree*max(o.rows, 1) != o.agree*max(l.rows, 1):
		return l.agree*max(o.rows, 1) > o.agree*max(l.rows, 1)
	default:
		return l.width > o.width
	}
}

// nameOf names a delimiter in the plural.
func nameOf(delimiter byte) string {
	switch delimiter {
	case ';':
		return "semicolons"
	case '\t':
		return "tabs"
	case '|':
		return "vertical bars"
	default:
		return "commas"
	}
}

// findLayout chooses the delimiter and with it the header.
func (t *Reader) findLayout(sample []sampleLine, expect []string) layout {
	if t.format.Delimiter != "" {
		return layoutOf(sample, t.format.Delimiter[0], expect)
	}
	var best, second layout
	for i, delimiter := range delimiters() {
		l := layoutOf(sample, delimiter[0], expect)
		switch {
		case i == 0 || l.better(best):
			best, second = l, best
		case i == 1 || l.better(second):
			second = l
		}
	}
	t.format.Delimiter = string(best.delimiter)
	if best.width > 1 {
		t.guessLayout(best, second)
	}
	return best
}

// guessLayout says which delimiter was chosen, and whether another would do as well.
func (t *Reader) guessLayout(best, second layout) {
	text := fmt.Sprintf("The cells are separated by %s: the header has %d", nameOf(best.delimiter), best.width)
	switch {
	case best.rows == 1 && best.agree == 1:
		text += ", and so has the line after it"
	case best.rows > 0:
		text += fmt.Sprintf(", and so have %d of the first %d lines after it", best.agree, best.rows)
	}
	unsure := second.matches == best.matches && second.width > 1 && second.agree > 0 && 2*second.agree >= second.rows
	if unsure {
		text += fmt.Sprintf("; this is not certain, for %s would divide %d of them into %d cells", nameOf(second.delimiter), second.agree, second.width)
	}
	t.guessf(best.delimiter == ',' && !unsure, "%s.", text)
}

// marks counts the numbers of a sample by the mark in them.
type marks struct {
	points, commas int
	// point and comma are examples.
	point, comma string
	// sure says that a number with a comma cannot have it between thousands; surePoint the same of a point.
	sure, surePoint bool
	// grouped says that a number has points between its thousands, as in 1.234.567.
	grouped bool
}

func (m *marks) add(cell []byte) {
	number := bytes.TrimLeft(bytes.TrimSpace(cell), "<>=~+- ")
	if at := bytes.IndexAny(number, "eE"); at > 0 && len(bytes.Trim(number[at+1:], "+-0123456789")) == 0 {
		number = number[:at]
	}
	if len(number) == 0 || number[0] < '0' || number[0] > '9' || len(bytes.Trim(number, "0123456789.,")) > 0 {
		return
	}
	text := string(number)
	for part := range strings.SplitSeq(text, "..") {
		m.count(part)
	}
}

// count takes a number whose last mark stands once, and so is the decimal one unless it stands between thousands.
func (m *marks) count(part string) {
	points, commas := strings.Count(part, "."), strings.Count(part, ",")
	last := strings.LastIndexAny(part, ".,")
	switch {
	case points > 1 && grouped(part):
		m.grouped = true
	case commas == 1 && part[last] == ',':
		m.commas++
		m.sure = m.sure || points > 0 || !thousands(part, ",")
		if m.comma == "" {
			m.comma = Quote(part)
		}
	case points == 1 && part[last] == '.':
		m.points++
		m.surePoint = m.surePoint || commas > 0 || !thousands(part, ".")
		if m.point == "" {
			m.point = Quote(part)
		}
	}
}

// Unsure says that a number may as well have its point between thousands: the decimal mark was not stated, no row that was looked at
// had decimals, and where cells are not separated by commas the mark may be one.
func (t *Reader) Unsure(cell []byte) bool {
	return t.unmarked && thousands(string(bytes.TrimLeft(cell, "<>+- ")), ".")
}

// Unsettled says of a number that is Unsure why it is not read.
func Unsettled(cell []byte) string {
	return Quote(cell) + " may have its point as the decimal mark or between thousands, and no row before shows which; state the decimal mark"
}

// grouped says that every point stands between thousands.
func grouped(part string) bool {
	const group = 3
	groups := strings.Split(part, ".")
	for _, digits := range groups[1:] {
		if len(digits) != group || strings.Contains(digits, ",") {
			return false
		}
	}
	return groups[0] != "" && len(groups[0]) <= group
}

// thousands says that the mark may stand between thousands, as in 1,234.
func thousands(part, mark string) bool {
	const group = 3
	before, after, _ := strings.Cut(part, mark)
	return len(after) == group && len(before) <= group && before != "" && before[0] != '0'
}

func (t *Reader) marks(rows []sampleLine) (m marks) {
	for _, line := range rows {
		cells, err := t.splitter.split(line.text)
		if err != nil {
			continue
		}
		for i, cell := range cells {
			if len(t.numbers) == 0 || slices.Contains(t.numbers, i) {
				m.add(cell)
			}
		}
	}
	return m
}

// placesOf returns where the columns of some names stand in a header.
func (t *Reader) placesOf(header []byte, names []string) (places []int) {
	cells, err := t.splitter.split(header)
	if err != nil {
		return nil
	}
	for i, cell := range cells {
		if slices.Contains(names, strings.ToLower(string(bytes.TrimSpace(cell)))) {
			places = append(places, i)
		}
	}
	return places
}

// guessMark says which mark was found, by how many numbers, and how many cannot be read so.
func (t *Reader) guessMark(name string, count int, example string, others int, other string) {
	text := fmt.Sprintf("Numbers have a decimal %s: the first rows have %d such as %s", name, count, example)
	if others > 0 {
		text += fmt.Sprintf("; this is not certain, for they also have %d such as %s, which cannot be read so", others, other)
	}
	t.guessf(name == "point" && others == 0, "%s.", text)
}

// unsettled names the mark that may as well stand between thousands, with an example; empty when it cannot. divided says that the comma
// is not what separates cells: where it does, nobody writes points between thousands.
func (m *marks) unsettled(divided bool) (mark, example string) {
	switch {
	case m.surePoint || m.grouped:
		return "", ""
	case m.commas > 0 && !m.sure:
		return "comma", m.comma
	case m.points > 0 && !m.sure && divided:
		return "point", m.point
	}
	return "", ""
}

// findMark finds the decimal mark in the rows of the sample, or in more of the file when those have no decimals; behind is the line of
// the header.
func (t *Reader) findMark(rows []sampleLine, behind int) error {
	if t.format.DecimalMark != "" {
		return nil
	}
	m := t.marks(rows)
	if m.points == 0 && m.commas == 0 && behind > 0 {
		m = t.marks(t.lines.sampleBehind(behind, dateSample))
	}
	t.format.DecimalMark, t.pointed = ".", m.points > 0
	divided := t.format.Delimiter != ","
	if mark, example := m.unsettled(divided); mark != "" {
		return fault.Invalid(t.file, "has numbers such as %s, in which the %s may be the decimal mark or stand between thousands; state the decimal mark, "+
			"and write numbers without separators of thousands", example, mark)
	}
	switch {
	case m.grouped && !m.surePoint:
		t.format.DecimalMark = ","
		t.guessf(false, "Numbers have a decimal comma: the first rows have points between thousands.")
	case m.sure && (!m.surePoint || m.commas > m.points):
		t.format.DecimalMark = ","
		t.guessMark("comma", m.commas, m.comma, m.points, m.point)
	case m.points > 0:
		t.guessMark("point", m.points, m.point, m.commas, m.comma)
	default:
		t.unmarked = divided
		t.guessf(true, "Numbers were read with a decimal point; the first rows have none with decimals.")
	}
	return nil
}
