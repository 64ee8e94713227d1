// Package fault is the one error that the stages return: what was wrong, in which field, and what is accepted. It knows
// nothing of transport; package rpc turns it into a gRPC status.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Code says whose fault it is and whether another try can help.
type Code uint8

const (
	// Internal: the service failed; its text is kept from the caller. The zero value, so that nothing leaks by omission.
	Internal Code = iota
	// InvalidArgument: the input is wrong whatever the state of the service.
	InvalidArgument
	// Unsupported: the input may be right, but this version of the service cannot answer it.
	Unsupported
	// Undetermined: the input is right, but the data do not determine an answer.
	Undetermined
	// TooLarge: the input exceeds a limit of the service.
	TooLarge
)

// Violation is one thing wrong with one field.
type Violation struct {
	// Field is the path of the field in lowerCamelCase, such as "readings[3].value" or "limit.unit".
	Field string
	// Text says what was wrong and what is accepted.
	Text string
}

// Error is a failure that the caller may read.
type Error struct {
	// Code classifies the failure.
	Code Code
	// Text is a plain sentence. When empty, the violations speak.
	Text string
	// Violations lists the fields at fault, in the order in which they were found.
	Violations []Violation
	// Cause is kept for the log and never shown to the caller.
	Cause error
}

// Error returns the sentence that the caller may read.
func (e *Error) Error() string {
	if e.Text != "" {
		return e.Text
	}
	parts := make([]string, len(e.Violations))
	for i, v := range e.Violations {
		parts[i] = v.Field + ": " + v.Text
	}
	return strings.Join(parts, "; ")
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Invalid returns an InvalidArgument error about one field.
func Invalid(field, format string, args ...any) *Error {
	return &Error{Code: InvalidArgument, Violations: []Violation{{Field: field, Text: fmt.Sprintf(format, args...)}}}
}

// Unimplemented returns an Unsupported error with a plain sentence.
func Unimplemented(format string, args ...any) *Error {
	return &Error{Code: Unsupported, Text: fmt.Sprintf(format, args...)}
}

// Unsettled returns an Undetermined error with a plain sentence.
func Unsettled(format string, args ...any) *Error {
	return &Error{Code: Undetermined, Text: fmt.Sprintf(format, args...)}
}

// Wrap returns an Internal error that keeps the cause for the log.
func Wrap(cause error, format string, args ...any) *Error {
	return &Error{Code: Internal, Text: fmt.Sprintf(format, args...), Cause: cause}
}

// CodeOf returns the code of the first Error in the chain; Internal when there is none.
func CodeOf(err error) Code {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return Internal
}

// Under returns a copy of err whose field paths start with prefix, so that a part can be checked without knowing where it
// stands. Any other error is returned as it is.
func Under(prefix string, err error) error {
	return Reworded(err, func(v Violation) Violation {
		if v.Field != "" {
			v.Field = "." + v.Field
		}
		return Violation{Field: prefix + v.Field, Text: v.Text}
	})
}

// Reworded returns a copy of err whose violations are as change makes them. Any other error is returned as it is.
func Reworded(err error, change func(Violation) Violation) error {
	e, ok := errors.AsType[*Error](err)
	if !ok || len(e.Violations) == 0 {
		return err
	}
	changed := *e
	changed.Violations = make([]Violation, len(e.Violations))
	for i, v := range e.Violations {
		changed.Violations[i] = change(v)
	}
	return &changed
}
