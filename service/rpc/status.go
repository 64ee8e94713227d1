package rpc

import (
	"context"
	"errors"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/rpc/request"
)

// internalText is all that a caller learns of a failure of the service itself; the log has the cause.
const internalText = "the service failed to answer; its log has the cause under the request id"

// toStatus is the one place where an error becomes a status. A fault keeps its words, and its field violations travel as
// google.rpc.BadRequest. Whatever is not known to be safe for the caller is Internal with a fixed text.
func toStatus(err error) *status.Status {
	var f *fault.Error
	switch {
	case err == nil:
		return status.New(codes.OK, "")
	case errors.Is(err, context.Canceled):
		return status.New(codes.Canceled, "the caller canceled the call")
	case errors.Is(err, context.DeadlineExceeded):
		return status.New(codes.DeadlineExceeded, "the call did not end before its deadline")
	case errors.As(err, &f):
		return faultStatus(f)
	}
	// A status comes from gRPC itself, as when a stream breaks.
	var s interface{ GRPCStatus() *status.Status }
	if errors.As(err, &s) {
		return s.GRPCStatus()
	}
	return status.New(codes.Internal, internalText)
}

func faultStatus(f *fault.Error) *status.Status {
	code := codeOf(f.Code)
	if code == codes.Internal {
		return status.New(code, internalText)
	}
	s := status.New(code, sentence(f))
	if len(f.Violations) == 0 {
		return s
	}
	detail := &errdetails.BadRequest{FieldViolations: make([]*errdetails.BadRequest_FieldViolation, len(f.Violations))}
	for i, v := range f.Violations {
		detail.FieldViolations[i] = &errdetails.BadRequest_FieldViolation{Field: v.Field, Description: v.Text}
	}
	detailed, err := s.WithDetails(detail)
	if err != nil {
		return s
	}
	return detailed
}

// codeOf gives every code of fault its gRPC code.
func codeOf(c fault.Code) codes.Code {
	switch c {
	case fault.InvalidArgument:
		return codes.InvalidArgument
	case fault.Unsupported:
		return codes.Unimplemented
	case fault.Undetermined:
		return codes.FailedPrecondition
	case fault.TooLarge:
		return codes.ResourceExhausted
	case fault.Internal:
		return codes.Internal
	}
	return codes.Internal
}

// sentence is what a person reads first: the fault's own text, or its first violations.
func sentence(f *fault.Error) string {
	const most = 3
	if f.Text != "" || len(f.Violations) <= most {
		return f.Error()
	}
	first := fault.Error{Violations: f.Violations[:most]}
	more := strconv.Itoa(len(f.Violations) - most)
	if len(f.Violations) >= request.MostViolations {
		return strings.Join([]string{first.Error(), "; and at least ", more, " more"}, "")
	}
	return strings.Join([]string{first.Error(), "; and ", more, " more"}, "")
}

// errorStatus is the form of a status inside an answer that goes on.
func errorStatus(s *status.Status) *tailboundv1.ErrorStatus {
	p := s.Proto()
	return &tailboundv1.ErrorStatus{Code: p.GetCode(), Message: p.GetMessage(), Details: p.GetDetails()}
}
