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

// Rejected counts the rows that could not be used, and keeps the first hundred reasons.
type Rejected struct {
	// Rows is how many rows were rejected.
	Rows int64
	// First are the first hundred reasons, by line.
	First []Rejection
	// more is how many reasons are not among First.
	more int64
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

// Merge adds what was rejected of another file.
func (r *Rejected) Merge(other *Rejected) {
	r.Rows += other.Rows
	room := min(shownRejections-len(r.First), len(other.First))
	r.First = append(r.First, other.First[:room]...)
	r.more += other.more + int64(len(other.First)-room)
}

// More is how many reasons are not among First.
func (r *Rejected) More() int64 { return r.more }

// Text is a sentence that says how many of the rows were left out; empty when none was.
func (r *Rejected) Text(rows int64) string {
	switch r.Rows {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("1 of %d rows was rejected and left out.", rows)
	default:
		return fmt.Sprintf("%d of %d rows were rejected and left out.", r.Rows, rows)
	}
}

// Err is a fault that lists the first reasons and says how many more there are; nil when no row was rejected.
func (r *Rejected) Err() error {
	if r.Rows == 0 {
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
