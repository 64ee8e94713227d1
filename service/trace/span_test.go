package trace_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

func TestLength(t *testing.T) {
	t.Parallel()
	for want, d := range map[string]time.Duration{
		"0 s": 0, "1 min": time.Minute, "8 h": 8 * time.Hour, "1 h 30 min": 90 * time.Minute, "1 min 30 s": 90 * time.Second,
		"1.5 s": 1500 * time.Millisecond, "90 ms": 90 * time.Millisecond, "-1 h": -time.Hour, "1 h 0.5 ms": time.Hour + 500*time.Microsecond,
	} {
		require.Equal(t, want, trace.Length(d))
	}
	require.NotEmpty(t, trace.Length(math.MaxInt64))
	require.NotEmpty(t, trace.Length(math.MinInt64+1))
}
