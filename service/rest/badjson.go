package rest

import (
	"regexp"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// notOurJSON begins the words of a parseError.
const notOurJSON = "not the JSON that this call takes: "

// wholeBodyField is the field that is blamed when the parser knows none.
const wholeBodyField = "body"

// The fields that protojson names in its words.
var namedFields = regexp.MustCompile(`unknown field "([^"]*)"|error parsing "([^"]*)"|(?:invalid value for \S+ field|duplicate field|field) "?([\w.]+)"?`)

// blame names the field of a body that is not the JSON of the call, as every other refusal does. The gateway keeps only the words of
// such an error.
func blame(err error) error {
	s := status.Convert(err)
	_, words, found := strings.Cut(s.Message(), notOurJSON)
	if s.Code() != codes.InvalidArgument || !found || len(s.Details()) > 0 {
		return err
	}
	field := wholeBodyField
	if named := namedFields.FindStringSubmatch(words); named != nil {
		field = named[1] + named[2] + named[3]
	}
	blamed, failed := s.WithDetails(&errdetails.BadRequest{FieldViolations: []*errdetails.BadRequest_FieldViolation{{Field: field, Description: words}}})
	if failed != nil {
		return err
	}
	return blamed.Err()
}
