package trace_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/trace"
)

// For lead 29 CFR 1910.1025(c)(2) allows 400/h µg/m3 over a shift of h hours (workplace-hygiene.com, OEL for extended work: 8 h 50, 10 h
// 40, 12 h 33 µg/m3). All of these are 50 µg/m3 over 8 hours, which is how an average over a base of 8 hours weighs a longer shift.
func TestLeadOverLongShifts(t *testing.T) {
	t.Parallel()
	for hours, allowed := range map[int]float64{8: 50, 10: 40, 12: 400.0 / 12} {
		length := time.Duration(hours) * time.Hour
		a := trace.Average{Length: length, Bounds: trace.Exactly(allowed), Observed: length}
		b, err := a.OverBase(trace.Base{Length: 8 * time.Hour, Outside: trace.Zero})
		require.NoError(t, err)
		require.InDelta(t, 50, b.Lower, 1e-12)
		require.InDelta(t, 50, b.Upper, 1e-12)
	}
}
