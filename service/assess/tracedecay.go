package assess

import (
	"math"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

// AirChangeOptions is a stretch of a trace in which a tracer decays.
type AirChangeOptions struct {
	Times  []time.Time
	Values []float64
	// Background is the concentration of the air that comes in, in the unit of the values.
	Background float64
	// Unit is only told again, as the Zone is.
	Unit reading.Unit
	Zone string
	// Confidence is that of each one-sided limit.
	Confidence float64
}

// AirChange finds the air-change rate of a room from the decay of a tracer. The error is a fault about the values, or says that
// they do not decay.
func AirChange(o *AirChangeOptions) (*report.AirChange, error) {
	found, err := trace.Decay(o.Times, o.Values, o.Background, o.Confidence)
	if err != nil {
		return nil, err
	}
	if !(found.Rate > 0) {
		return nil, fault.Unsettled("the concentration does not fall from %s to %s: there is no decay to find a rate in",
			o.Times[0].Format(time.RFC3339), o.Times[len(o.Times)-1].Format(time.RFC3339))
	}
	a := &report.AirChange{
		Zone: o.Zone, Confidence: o.Confidence, Values: found.Values, Correlation: found.Correlation,
		Rate:     limit.Bounds{Estimate: found.Rate, Lower: max(found.Lower, 0), Upper: found.Upper},
		Duration: o.Times[len(o.Times)-1].Sub(o.Times[0]),
		Caution:  report.Caution,
		Methods: []report.Method{
			{
				Quantity: "rate", Method: "least squares of ln(concentration - " + o.background() + ") against time",
				Source: "tracer decay, as in ASTM E741 (from memory)",
			},
			{
				Quantity: "limits", Method: "Student's t with the values less 2, the variance times (1 + r)/(1 - r) for residuals that correlate by r > 0",
				Source: "linear regression; large-sample factor of a first-order series (from memory)",
			},
		},
	}
	airChangeNotes(a, o, found.Lower)
	return a, nil
}

// background names that of the air that comes in, with its unit.
func (o *AirChangeOptions) background() string {
	return strings.TrimSpace(reading.Stated(o.Background) + " " + string(o.Unit))
}

// airChangeNotes says what the rate takes for granted; lower is its lower limit as it was found.
func airChangeNotes(a *report.AirChange, o *AirChangeOptions, lower float64) {
	tell := func(severity report.Severity, code, text string) {
		a.Notes = append(a.Notes, report.Note{Code: code, Severity: severity, Text: text})
	}
	tell(report.Careful, "one-mixed-zone", "The rate holds for one zone of well-mixed air, without a source of the tracer (nobody in the room) and with a "+
		"steady flow and a background that stays at "+o.background()+". In a room that is not mixed it is that of the place of the sensor: repeat it at other places.")
	if lower < 0 {
		tell(report.Careful, "no-lower-limit", "The values scatter so much that no air change at all is possible: the lower limit is 0.")
	}
	// Twice the standard error of a correlation of independent residuals.
	if a.Correlation > 2/math.Sqrt(float64(a.Values)) {
		tell(report.Careful, "bent-decay", "Neighboring residuals correlate: the decay is not one straight line in the logarithm. The flow or the "+
			"background may have changed, or people may still have been there; the limits are widened for it.")
	}
	if a.Rate.Estimate*a.Duration.Hours() < math.Ln2 {
		tell(report.Careful, "short-decay", "The concentration did not fall to half of what it was over the background: a longer stretch tells more.")
	}
	if o.Values[len(o.Values)-1]-o.Background < 0.1*(o.Values[0]-o.Background) {
		tell(report.Information, "near-background", "The last values are within a tenth of the first excess over the background: a small error of the "+
			"background bends the line there. End the stretch earlier if the background is not sure.")
	}
}
