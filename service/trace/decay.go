package trace

import (
	"math"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
)

// AirChange is the rate at which the air of a room is renewed, found from the decay of a tracer, such as carbon dioxide after the
// people have left.
type AirChange struct {
	// Rate is per hour; Lower and Upper are its one-sided limits.
	Rate, Lower, Upper float64
	// Correlation is that of neighboring residuals; what is above 0 has widened the limits.
	Correlation float64
	// Values is how many there were.
	Values int
}

// Decay fits ln(C − background) = a − rate × t by least squares (tracer decay, as in ASTM E741; for one fully mixed zone with a
// constant flow and without a source). The limits are Student's, the variance widened by (1 + r)/(1 − r) for residuals of lag-1
// correlation r above 0 (large-sample factor for a first-order series, from memory). background is the concentration outdoors;
// confidence is from 0.5 to 1, exclusive. The error is a fault about the values.
func Decay(times []time.Time, values []float64, background, confidence float64) (AirChange, error) {
	if err := checkDecay(times, values, background, confidence); err != nil {
		return AirChange{}, err
	}
	n := float64(len(values))
	x, y := make([]float64, len(values)), make([]float64, len(values))
	meanX, meanY := 0.0, 0.0
	for i, v := range values {
		x[i], y[i] = times[i].Sub(times[0]).Hours(), math.Log(v-background)
		meanX += x[i] / n
		meanY += y[i] / n
	}
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - meanX) * (x[i] - meanX)
		sxy += (x[i] - meanX) * (y[i] - meanY)
	}
	slope := sxy / sxx
	var squares, products, before float64
	for i := range x {
		residual := y[i] - meanY - slope*(x[i]-meanX)
		squares += residual * residual
		products += residual * before
		before = residual
	}
	a := AirChange{Rate: -slope, Lower: -slope, Upper: -slope, Values: len(values)}
	// A decay without scatter has no residuals to correlate, only rounding.
	if squares < 1e-24*n {
		return a, nil
	}
	a.Correlation = products / squares
	r := max(a.Correlation, 0)
	margin := numeric.StudentTQuantile(n-2, confidence) * math.Sqrt(squares/(n-2)/sxx*(1+r)/(1-r))
	a.Lower, a.Upper = a.Rate-margin, a.Rate+margin
	return a, nil
}

func checkDecay(times []time.Time, values []float64, background, confidence float64) error {
	const fewest = 3
	switch {
	case len(times) != len(values) || len(values) < fewest:
		return fault.Invalid("values", "has %d entries for %d times; accepted are at least %d, one for each time", len(values), len(times), fewest)
	case !(background >= 0) || math.IsInf(background, 1):
		return fault.Invalid("background", "is %v; accepted is a finite number that is not negative", background)
	case !(confidence >= 0.5 && confidence < 1):
		return fault.Invalid("confidence", "is %v; accepted is a number from 0.5 to 1, exclusive", confidence)
	}
	for i, v := range values {
		if !(v > background) || math.IsInf(v, 1) {
			return fault.Invalid("values", "entry %d, of %s, is %v, not above the background %v: end the stretch before it", i, clock(times[i]), v, background)
		}
		if i > 0 && !times[i].After(times[i-1]) {
			return fault.Invalid("times", "entry %d is not after the one before", i)
		}
	}
	return nil
}
