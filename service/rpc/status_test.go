package rpc

import (
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/rpc/request"
)

// faultCodes reads the names of the codes from the source of package fault, so that a new one cannot be forgotten here.
func faultCodes(t *testing.T) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "../fault/fault.go", nil, 0)
	require.NoError(t, err)
	var names []string
	for _, d := range file.Decls {
		group, ok := d.(*ast.GenDecl)
		if !ok || group.Tok != token.CONST {
			continue
		}
		for _, s := range group.Specs {
			names = append(names, s.(*ast.ValueSpec).Names[0].Name)
		}
	}
	return names
}

func TestEveryFaultCode(t *testing.T) {
	t.Parallel()
	want := []struct {
		name string
		code fault.Code
		grpc codes.Code
	}{
		{"Internal", fault.Internal, codes.Internal},
		{"InvalidArgument", fault.InvalidArgument, codes.InvalidArgument},
		{"Unsupported", fault.Unsupported, codes.Unimplemented},
		{"Undetermined", fault.Undetermined, codes.FailedPrecondition},
		{"TooLarge", fault.TooLarge, codes.ResourceExhausted},
	}
	names := faultCodes(t)
	require.Len(t, names, len(want))
	for i, w := range want {
		require.Equal(t, w.name, names[i])
		require.Equal(t, fault.Code(i), w.code)
		s := toStatus(&fault.Error{Code: w.code, Text: "plain words"})
		require.Equal(t, w.grpc, s.Code())
		if w.code != fault.Internal {
			require.Equal(t, "plain words", s.Message())
		}
	}
	require.Equal(t, codes.Internal, codeOf(fault.Code(len(want))))
}

func TestOtherErrors(t *testing.T) {
	t.Parallel()
	secret := errors.New("disk 7 is full")
	for _, c := range []struct {
		name string
		err  error
		code codes.Code
		text string
	}{
		{"nil", nil, codes.OK, ""},
		{"canceled", fmt.Errorf("deep: %w", context.Canceled), codes.Canceled, "the caller canceled the call"},
		{"late", context.DeadlineExceeded, codes.DeadlineExceeded, "the call did not end before its deadline"},
		{"late inside a fault", fault.Wrap(context.DeadlineExceeded, "fit"), codes.DeadlineExceeded, "the call did not end before its deadline"},
		{"status", fmt.Errorf("recv: %w", status.Error(codes.Unavailable, "gone")), codes.Unavailable, "gone"},
		{"unknown", secret, codes.Internal, internalText},
		{"wrapped", fault.Wrap(secret, "reading the registry"), codes.Internal, internalText},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := toStatus(c.err)
			require.Equal(t, c.code, s.Code())
			require.Contains(t, s.Message(), c.text)
			require.NotContains(t, s.Message(), "disk")
			require.Empty(t, s.Details())
		})
	}
}

func TestViolationsTravelAsBadRequest(t *testing.T) {
	t.Parallel()
	f := &fault.Error{Code: fault.InvalidArgument}
	for _, field := range []string{"a", "b", "c", "d", "e"} {
		f.Violations = append(f.Violations, fault.Violation{Field: field, Text: "is wrong"})
	}
	s := toStatus(f)
	require.Equal(t, "a: is wrong; b: is wrong; c: is wrong; and 2 more", s.Message())
	require.Len(t, s.Details(), 1)
	detail, ok := s.Details()[0].(*errdetails.BadRequest)
	require.True(t, ok)
	require.Len(t, detail.GetFieldViolations(), 5)
	require.Equal(t, "e", detail.GetFieldViolations()[4].GetField())
	require.Equal(t, "is wrong", detail.GetFieldViolations()[4].GetDescription())

	inner := errorStatus(s)
	require.Equal(t, int32(codes.InvalidArgument), inner.GetCode())
	require.Equal(t, s.Message(), inner.GetMessage())
	require.Len(t, inner.GetDetails(), 1)
	require.Equal(t, "type.googleapis.com/google.rpc.BadRequest", inner.GetDetails()[0].GetTypeUrl())

	for len(f.Violations) < request.MostViolations {
		f.Violations = append(f.Violations, f.Violations[0])
	}
	require.Contains(t, toStatus(f).Message(), "and at least 17 more")
}
