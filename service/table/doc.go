// Package table turns the bytes of a file, as people and instruments write them, into rows of cells: it finds out the encoding,
// what separates the cells, where the header stands, how numbers and times are written, and says in plain sentences what it found
// out and from what. What cannot be known it refuses; a row that cannot be read is refused by itself, with file, line, column and
// reason, and the next call goes on behind it. It reads a file of any length in bounded memory.
package table

import (
	"fmt"
	"strings"
)

// Format says how a file is written. Before reading an empty field is to be found out; afterwards every field says what was used.
type Format struct {
	// Encoding is "utf-8", "utf-16le", "utf-16be" or "windows-1252".
	Encoding string
	// Delimiter separates the cells: ",", ";", "|" or a tab.
	Delimiter string
	// DecimalMark separates whole from decimal digits: "." or ",".
	DecimalMark string
	// DateOrder is "year-month-day", "day-month-year" or "month-day-year".
	DateOrder string
	// TimeZone is where the clock stood of times without a zone: an offset such as "+01:00" or a name such as "Europe/Paris".
	TimeZone string
}

// Options says what of a file is known before it is read.
type Options struct {
	Format
	// Expect are names that the header is recognized by, in lower case.
	Expect []string
	// Required are the names of the columns that a file must have; for the message about an empty one.
	Required []string
	// Numbers are the names, in lower case, of the columns that hold numbers: where the header has one of them, the decimal mark is
	// looked for in no other, for a name such as 3,14 has none.
	Numbers []string
}

// Guess is something that was found out rather than stated.
type Guess struct {
	// Text is a plain sentence that says what, and from what.
	Text string
	// Usual is what a reader would expect anyway, such as commas between the cells.
	Usual bool
}

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

// List writes names as people do: a, b and c.
func List(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// Quote writes the text of a cell in quotes, cut when it is long, so that what is said of a row is never as long as the row.
func Quote[T ~string | ~[]byte](cell T) string {
	const longest = 80
	if len(cell) > longest {
		return fmt.Sprintf("%q and so on", string(cell[:longest]))
	}
	return fmt.Sprintf("%q", string(cell))
}
