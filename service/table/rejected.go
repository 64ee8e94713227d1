package table

import (
	"fmt"
	"strings"

	"example.com/tailbound/service/fault"
)

// shownRejections is how many reasons are kept one by one.
const shownRejections = 100

// Reason is one thing wrong with a row.
type Reason struct {
	// Column is the column's name in the header; empty when the row as a whole is wrong.
	Column string
	// Text says what was wrong and what is accepted.
	Text string
}

// BadRow is the error of a row that cannot be used. Those behind it can be read.
type BadRow struct {
	// Place is where the row stands.
	Place
	// Reasons are at least one.
	Reasons []Reason
}

// Bad returns a row with one thing wrong.
func (p Place) Bad(column, format string, args ...any) *BadRow {
	const longest = 200
	if len(column) > longest {
		column = strings.ToValidUTF8(column[:longest], "") + "…"
	}
	return &BadRow{Place: p, Reasons: []Reason{{column, fmt.Sprintf(format, args...)}}}
}

// Fault returns a fault about the place, in a column unless that is empty.
func (p Place) Fault(column, format string, args ...any) *fault.Error {
	return fault.Invalid(p.in(column), format, args...)
}

func (p Place) in(column string) string {
	if column == "" {
		return p.String()
	}
	return p.String() + ", column " + column
}

// Error returns the reasons with their places.
func (b *BadRow) Error() string { return b.fault().Error() }

// Unwrap returns a fault that the caller may read.
func (b *BadRow) Unwrap() error { return b.fault() }

func (b *BadRow) fault() *fault.Error {
	f := &fault.Error{Code: fault.InvalidArgument}
	for _, r := range b.Reasons {
		f.Violations = append(f.Violations, fault.Violation{Field: b.in(r.Column), Text: r.Text})
	}
	return f
}

// Rejection is one reason of one rejected row.
type Rejection struct {
	Place
	Reason
}

// String writes the rejection with its place.
func (r Rejection) String() string { return r.in(r.Column) + ": " + r.Text }

// Rejected counts the rows and the cells that could not be used, and keeps the first hundred reasons.
type Rejected struct {
	// Rows is how many rows were rejected. Cells is how many cells were rejected of rows whose other cells were used.
	Rows, Cells int64
	// First are the first hundred reasons, by line, and of the cells of one column the first twenty.
	First []Rejection
	// more is how many reasons are not among First.
	more int64
	// listed counts the cells of each column that are among First.
	listed map[string]int
}

// Add counts a row.
func (r *Rejected) Add(row *BadRow) {
	r.Rows++
	for _, reason := range row.Reasons {
		if len(r.First) < shownRejections {
			r.First = append(r.First, Rejection{row.Place, reason})
		} else {
			r.more++
		}
	}
}

// AddCells counts cells of a row whose others were used.
func (r *Rejected) AddCells(row *BadRow) {
	const most = 20
	if r.listed == nil {
		r.listed = map[string]int{}
	}
	for _, reason := range row.Reasons {
		r.Cells++
		if len(r.First) < shownRejections && r.listed[reason.Column] < most {
			r.listed[reason.Column]++
			r.First = append(r.First, Rejection{row.Place, reason})
		} else {
			r.more++
		}
	}
}

// Merge adds what was rejected of another file.
func (r *Rejected) Merge(other *Rejected) {
	r.Rows += other.Rows
	r.Cells += other.Cells
	room := min(shownRejections-len(r.First), len(other.First))
	r.First = append(r.First, other.First[:room]...)
	r.more += other.more + int64(len(other.First)-room)
}

// More is how many reasons are not among First.
func (r *Rejected) More() int64 { return r.more }

// Text says how many of the rows were left out, and how many cells of the others; empty when none was.
func (r *Rejected) Text(rows int64) string {
	var texts []string
	switch r.Rows {
	case 0:
	case 1:
		texts = append(texts, fmt.Sprintf("1 of %d rows was rejected and left out.", rows))
	default:
		texts = append(texts, fmt.Sprintf("%d of %d rows were rejected and left out.", r.Rows, rows))
	}
	switch r.Cells {
	case 0:
	case 1:
		texts = append(texts, "1 cell was rejected and taken as no reading.")
	default:
		texts = append(texts, fmt.Sprintf("%d cells were rejected and taken as no reading.", r.Cells))
	}
	return strings.Join(texts, " ")
}

// Err is a fault that lists the first reasons and says how many more there are; nil when nothing was rejected.
func (r *Rejected) Err() error {
	if r.Rows == 0 && r.Cells == 0 {
		return nil
	}
	const shown = 20
	f := &fault.Error{Code: fault.InvalidArgument}
	for _, one := range r.First[:min(shown, len(r.First))] {
		f.Violations = append(f.Violations, fault.Violation{Field: one.in(one.Column), Text: one.Text})
	}
	if more := r.more + int64(max(0, len(r.First)-shown)); more > 0 {
		f.Violations = append(f.Violations, fault.Violation{Field: "", Text: fmt.Sprintf("and %d more", more)})
	}
	return f
}
