package figure

import (
	"time"

	"example.com/tailbound/service/reading"
)

// TraceFigure is one channel of a trace, made as small as a figure needs it. Concentrations are in Unit; NaN is no value.
type TraceFigure struct {
	Agent, Zone string
	Unit        reading.Unit
	// DetectionLimit is 0 and FullScale +Inf when the sensor has none.
	DetectionLimit, FullScale float64
	// From and To bound the time drawn.
	From, To time.Time
	// Columns are equal parts of that time, in their order. One without a value is a gap.
	Columns []TraceColumn
	// Averages are those of the averaging periods, in the order of time.
	Averages []TraceSpan
	// Gaps are the stretches without a value that are longer than a column.
	Gaps []TraceSpan
	// Largest is the largest rolling 15-minute mean; its Average is NaN when there is none.
	Largest TraceSpan
}

// TraceColumn is what was logged in one part of the time.
type TraceColumn struct {
	// Minimum, Mean and Maximum are those of the logged values.
	Minimum, Mean, Maximum float64
	// Rolling is the mean over the 15 minutes that end with the column.
	Rolling float64
}

// TraceSpan is a stretch of time.
type TraceSpan struct {
	From, To time.Time
	// Average is the mean over the stretch. Lower and Upper bound it where values were under the detection limit or over the range.
	Average, Lower, Upper float64
	// Usable says that enough of the stretch was covered.
	Usable bool
}
