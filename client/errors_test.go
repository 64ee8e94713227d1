package client_test

import (
	"context"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

func TestErrorCarriesCodeMessageAndViolations(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{assess: func(context.Context, *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
		return nil, refused().Err()
	}})
	_, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
	requireRefused(t, fmt.Errorf("group 7: %w", err))
}

// requireRefused holds an error against what the fake says of a bad group, whichever way it came.
func requireRefused(t *testing.T, err error) {
	t.Helper()
	var failure *client.Error
	require.ErrorAs(t, err, &failure)
	require.Equal(t, codes.InvalidArgument, failure.Code)
	require.Equal(t, refusal, failure.Message)
	require.Equal(t, "InvalidArgument: "+refusal, failure.Error())
	want := make([]client.Violation, len(violations))
	for i, v := range violations {
		want[i] = client.Violation{Field: v.GetField(), Description: v.GetDescription()}
	}
	require.Equal(t, want, failure.Violations)
	require.True(t, client.IsInvalid(err))
	require.False(t, client.IsUndetermined(err))
	require.False(t, client.IsUnavailable(err))

	// The functions of gRPC's own status package see all of it.
	require.Equal(t, codes.InvalidArgument, status.Code(err))
	require.Len(t, failure.GRPCStatus().Details(), 1)
}

func TestErrorMatchesTheContextErrorsByCode(t *testing.T) {
	t.Parallel()
	require.ErrorIs(t, &client.Error{Code: codes.Canceled}, context.Canceled)
	require.ErrorIs(t, &client.Error{Code: codes.DeadlineExceeded}, context.DeadlineExceeded)
	require.NotErrorIs(t, &client.Error{Code: codes.Canceled}, context.DeadlineExceeded)
	require.NotErrorIs(t, &client.Error{Code: codes.Internal}, context.Canceled)
}

func TestErrorMadeByHandHasAStatus(t *testing.T) {
	t.Parallel()
	err := &client.Error{Code: codes.FailedPrecondition, Message: "want 2 detected readings"}
	require.True(t, client.IsUndetermined(err))
	require.Equal(t, codes.FailedPrecondition, status.Code(err))
	require.Equal(t, "want 2 detected readings", status.Convert(err).Message())
	require.Equal(t, "Internal", (&client.Error{Code: codes.Internal}).Error())
	require.Equal(t, "InvalidArgument: name: too long; limit.value: missing", (&client.Error{
		Code:       codes.InvalidArgument,
		Violations: []client.Violation{{Field: "name", Description: "too long"}, {Field: "limit.value", Description: "missing"}},
	}).Error())
}

// bare is a connection that fails without a gRPC status, as one that is not gRPC's own may.
type bare struct{ err error }

func (b bare) Invoke(context.Context, string, any, any, ...grpc.CallOption) error { return b.err }

func (b bare) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return nil, b.err
}

func TestEveryFailureIsTyped(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		err  error
		code codes.Code
	}{
		{err: context.Canceled, code: codes.Canceled},
		{err: fmt.Errorf("in memory: %w", context.DeadlineExceeded), code: codes.DeadlineExceeded},
		{err: io.ErrUnexpectedEOF, code: codes.Unknown},
		{err: fmt.Errorf("wrapped: %w", status.Error(codes.Aborted, "no")), code: codes.Aborted},
	} {
		c := client.New(bare{err: row.err})
		_, unary := c.AssessGroup(t.Context(), nil)
		_, trace := c.ReduceTrace(t.Context(), nil, nil)
		_, batch := collect(c.AssessAll(t.Context(), groups("a")))
		for _, err := range []error{unary, trace, batch} {
			var failure *client.Error
			require.ErrorAs(t, err, &failure)
			require.Equal(t, row.code, failure.Code, row.err)
		}
	}
}
