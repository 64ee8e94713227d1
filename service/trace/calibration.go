package trace

import (
	"math"
	"time"

	"example.com/tailbound/service/fault"
)

// DefaultTolerance is the largest error of a calibration check that passes, as a fraction of the span gas (common practice).
const DefaultTolerance = 0.10

// Check is what a sensor showed in zero air and in a gas of known concentration.
type Check struct {
	At time.Time
	// Zero and Span are what it showed, in the channel's unit.
	Zero, Span float64
}

// Calibration is a check before the trace and one after it. The sensor is taken to have drifted linearly from one to the other.
type Calibration struct {
	// Gas is the concentration of the span gas, in the channel's unit.
	Gas           float64
	Before, After Check
	// Tolerance is the largest error that passes, as a fraction of Gas.
	Tolerance float64
	// Correct takes the drift out of the values; otherwise it is only reported.
	Correct bool
}

func (c *Calibration) check() error {
	switch {
	case c == nil:
		return nil
	case !(c.Gas > 0) || math.IsInf(c.Gas, 1):
		return fault.Invalid("calibration.gas", "is %v; accepted is a finite number greater than 0", c.Gas)
	case !(c.Tolerance >= 0 && c.Tolerance <= 1):
		return fault.Invalid("calibration.tolerance", "is %v; accepted is a fraction from 0 to 1", c.Tolerance)
	case !c.After.At.After(c.Before.At):
		return fault.Invalid("calibration.after.time", "is %v, not after the check before at %v", c.After.At, c.Before.At)
	}
	if err := c.Before.check(); err != nil {
		return fault.Under("calibration.before", err)
	}
	return fault.Under("calibration.after", c.After.check())
}

func (k Check) check() error {
	// The span of a sensor that is any use is neither infinite nor under its zero.
	if sensitivity := k.Span - k.Zero; !(sensitivity > 0) || math.IsInf(sensitivity, 1) {
		return fault.Invalid("span", "is %v, not above what was shown in zero air, %v", k.Span, k.Zero)
	}
	if k.At.IsZero() || k.At.Year() < firstYear || k.At.Year() > lastYear {
		return fault.Invalid("time", "is not a time between the years %d and %d", firstYear, lastYear)
	}
	return nil
}

// Drift is how far the sensor was off, as fractions of the span gas: positive when it showed too much.
type Drift struct {
	ZeroBefore, SpanBefore, ZeroAfter, SpanAfter float64
	// Worst is the largest of them in size.
	Worst float64
	// Passed says that Worst is within the tolerance.
	Passed bool
}

// Drift reports the errors of the two checks.
func (c *Calibration) Drift() Drift {
	d := Drift{
		ZeroBefore: c.Before.Zero / c.Gas, SpanBefore: (c.Before.Span - c.Gas) / c.Gas,
		ZeroAfter: c.After.Zero / c.Gas, SpanAfter: (c.After.Span - c.Gas) / c.Gas,
	}
	d.Worst = max(math.Abs(d.ZeroBefore), math.Abs(d.SpanBefore), math.Abs(d.ZeroAfter), math.Abs(d.SpanAfter))
	d.Passed = d.Worst <= c.Tolerance
	return d
}

// correct takes the drift out of a value logged at a time in nanoseconds: between the checks zero and span move linearly,
// outside them they stay.
func (c *Calibration) correct(at int64, v float64) float64 {
	from, to := c.Before.At.UnixNano(), c.After.At.UnixNano()
	f := min(max(float64(at-from)/float64(to-from), 0), 1)
	zero := c.Before.Zero + f*(c.After.Zero-c.Before.Zero)
	span := c.Before.Span + f*(c.After.Span-c.Before.Span)
	return (v - zero) * c.Gas / (span - zero)
}
