package client

import (
	"context"
	"errors"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	spb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// Error is the failure of a call, or of one group of AssessAll. The package functions of gRPC's status read it too.
type Error struct {
	// Code is the canonical gRPC code.
	Code codes.Code
	// Message is the server's plain sentence, or gRPC's own when no server was reached.
	Message string
	// Violations lists the fields at fault; empty unless the request was invalid.
	Violations []Violation

	status *status.Status
}

// Violation is one thing wrong with one field of the request.
type Violation struct {
	// Field is the path of the field in lowerCamelCase, such as "readings[3].value".
	Field string
	// Description says what was wrong and what is accepted.
	Description string
}

// Error returns the code and the message; the violations speak when there is no message.
func (e *Error) Error() string {
	text := e.Message
	if text == "" {
		told := make([]string, len(e.Violations))
		for i, v := range e.Violations {
			told[i] = v.Field + ": " + v.Description
		}
		text = strings.Join(told, "; ")
	}
	if text == "" {
		return e.Code.String()
	}
	return e.Code.String() + ": " + text
}

// GRPCStatus returns the status that the error was made from, with every detail, for the functions of package status.
func (e *Error) GRPCStatus() *status.Status {
	if e.status != nil {
		return e.status
	}
	return status.New(e.Code, e.Message)
}

// Is matches context.Canceled and context.DeadlineExceeded by the code, wherever the call was cut: here or at the server.
func (e *Error) Is(target error) bool {
	return target == context.Canceled && e.Code == codes.Canceled ||
		target == context.DeadlineExceeded && e.Code == codes.DeadlineExceeded
}

// IsInvalid says that the request was wrong and will stay so; the violations say where.
func IsInvalid(err error) bool { return has(err, codes.InvalidArgument) }

// IsUndetermined says that the request was right but its readings do not determine an answer.
func IsUndetermined(err error) bool { return has(err, codes.FailedPrecondition) }

// IsUnavailable says that no server answered, after all attempts; the same call may succeed later.
func IsUnavailable(err error) bool { return has(err, codes.Unavailable) }

func has(err error, code codes.Code) bool {
	var e *Error
	return errors.As(err, &e) && e.Code == code
}

// fromRPC gives the error of a gRPC call its type.
func fromRPC(err error) *Error {
	if _, ok := status.FromError(err); !ok {
		// A connection that is not gRPC's own may hand the context's error through.
		return fromStatus(status.FromContextError(err))
	}
	return fromStatus(status.Convert(err))
}

// fromStream gives the error of one group, which came inside an answer, its type.
func fromStream(e *tailboundv1.ErrorStatus) *Error {
	return fromStatus(status.FromProto(&spb.Status{Code: e.GetCode(), Message: e.GetMessage(), Details: e.GetDetails()}))
}

func fromStatus(s *status.Status) *Error {
	e := &Error{Code: s.Code(), Message: s.Message(), status: s}
	for _, detail := range s.Details() {
		if bad, ok := detail.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				e.Violations = append(e.Violations, Violation{Field: v.GetField(), Description: v.GetDescription()})
			}
		}
	}
	return e
}
