package fault_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
)

func TestViolationsSpeakWhenThereIsNoText(t *testing.T) {
	t.Parallel()
	err := fault.Invalid("limit.value", "is %v; accepted is a number greater than 0", -1)
	require.Equal(t, "limit.value: is -1; accepted is a number greater than 0", err.Error())
	require.Equal(t, "not yet", fault.Unimplemented("not yet").Error())
	require.Equal(t, "more data", fault.Unsettled("more %s", "data").Error())
}

func TestCodeOfFindsTheFaultInTheChain(t *testing.T) {
	t.Parallel()
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(fmt.Errorf("group 3: %w", fault.Invalid("x", "y"))))
	require.Equal(t, fault.Unsupported, fault.CodeOf(fault.Unimplemented("x")))
	require.Equal(t, fault.Undetermined, fault.CodeOf(fault.Unsettled("x")))
	require.Equal(t, fault.Internal, fault.CodeOf(errors.New("disk on fire")))
}

func TestWrapKeepsTheCauseFromTheCaller(t *testing.T) {
	t.Parallel()
	cause := errors.New("singular matrix")
	err := fault.Wrap(cause, "the fit failed")
	require.ErrorIs(t, err, cause)
	require.NotContains(t, err.Error(), "singular")
	require.Equal(t, fault.Internal, err.Code)
}

func TestUnderMovesThePath(t *testing.T) {
	t.Parallel()
	inner := fault.Invalid("value", "is 0")
	require.EqualError(t, fault.Under("readings[3]", inner), "readings[3].value: is 0")
	require.EqualError(t, fault.Under("limit.unit", fault.Invalid("", "unknown")), "limit.unit: unknown")
	require.Equal(t, "value", inner.Violations[0].Field, "the original is left alone")
	other := errors.New("other")
	require.Equal(t, other, fault.Under("x", other))
}
