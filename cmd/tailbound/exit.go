package main

import (
	"context"
	"errors"
	"io/fs"
	"strings"

	"google.golang.org/grpc/codes"

	"example.com/tailbound/client"
	"example.com/tailbound/service/fault"
)

// The exit codes, FIXED.
const (
	exitDone         = 0
	exitFailed       = 1
	exitUsage        = 2
	exitNotCompliant = 3
)

// usageError is a command line or an input that cannot be right.
type usageError struct{ cause error }

// Error returns the words of the cause.
func (e usageError) Error() string { return e.cause.Error() }

// Unwrap returns the cause.
func (e usageError) Unwrap() error { return e.cause }

var (
	// errRefused: some group was refused, which has been told.
	errRefused = errors.New("a group was refused")
	// errFailedGroup: some group got no answer for a failure of the service, which has been told.
	errFailedGroup = errors.New("a group failed")
	// errNotCompliant: some group is not compliant, and the caller asked to be told by the exit code.
	errNotCompliant = errors.New("a group is not compliant")
)

// conclude tells an error that has not been told, and returns the exit code.
func conclude(s streams, err error) int {
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errRefused):
		return exitUsage
	case errors.Is(err, errFailedGroup):
		return exitFailed
	case errors.Is(err, errNotCompliant):
		return exitNotCompliant
	}
	for _, line := range sentences(err) {
		s.notef("%s", line)
	}
	if isUsage(err) {
		return exitUsage
	}
	return exitFailed
}

// isUsage says whether the command line or the input is at fault.
func isUsage(err error) bool {
	var usage usageError
	var missing *fs.PathError
	return errors.As(err, &usage) || errors.As(err, &missing) || fault.CodeOf(err) != fault.Internal || isRefusal(err)
}

// isRefusal says whether the service refused what was asked, so that the same question gets the same answer.
func isRefusal(err error) bool {
	var e *client.Error
	if !errors.As(err, &e) {
		return false
	}
	switch e.Code {
	case codes.InvalidArgument, codes.FailedPrecondition, codes.OutOfRange, codes.Unimplemented, codes.ResourceExhausted:
		return true
	default:
		return false
	}
}

// sentences are the lines that tell an error, without the codes of gRPC, which say nothing to a reader.
func sentences(err error) []string {
	var f *fault.Error
	if errors.As(err, &f) && len(f.Violations) > 0 {
		lines := make([]string, len(f.Violations))
		for i, v := range f.Violations {
			lines[i] = strings.TrimPrefix(v.Field+": "+v.Text, ": ")
		}
		return lines
	}
	var e *client.Error
	switch {
	case errors.Is(err, context.Canceled):
		return []string{"interrupted"}
	case !errors.As(err, &e):
		return []string{err.Error()}
	case len(e.Violations) == 0:
		return []string{e.Message}
	}
	lines := make([]string, len(e.Violations))
	for i, v := range e.Violations {
		lines[i] = strings.TrimPrefix(v.Field+": "+v.Description, ": ")
	}
	return lines
}
