package assess

import (
	"fmt"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// The notes on readings that follow one another.
const (
	followingNote = "following-readings"
	dependentNote = "dependent-readings"
)

// independence refuses readings that depend on each other, unless the caller accepts them: a lognormal fitted to the minutes of one
// shift describes that shift and not the exposure across shifts, and its limits are too narrow. It returns what was found, nil when
// too few readings follow one another, and adds what the reader must know of readings that do; which is "The readings" or what else
// they are called. The fault is about the field readings.
func independence(which string, readings []reading.Reading, accepted bool, add adder) (*check.Dependence, error) {
	d := check.Serial(readings)
	var found *check.Dependence
	if d.Determined() {
		kept := d // So that d costs nothing where readings stand alone.
		found = &kept
	}
	switch {
	case !d.Following():
	case !d.Determined():
		add(followingNote, report.Warning, "%s follow one another within a shift, but too few that do have a value, or all are equal, "+
			"so whether they depend on each other cannot be seen. Exposure is judged across shifts: one average a shift (tailbound "+
			"reduce) says more.", which)
	case !d.Dependent:
		add(followingNote, report.Careful, "%s follow one another within a shift: over %d pairs the logarithm of a reading correlates "+
			"with that of the next by %.2f, which may be chance, so no dependence is shown. Readings of few shifts still tell little of "+
			"how shifts differ.", which, d.Pairs, d.Correlation)
	case !accepted:
		f := fault.Unsettled("")
		f.Violations = fault.Invalid("readings", "follow one another within a shift and depend on each other: over %d pairs the logarithm "+
			"of a reading correlates with that of the next by %.2f, more than chance does, so that the %d readings are worth about "+
			"%.3g independent ones. Exposure is judged across shifts, and limits from such readings would be too narrow. Reduce them "+
			"to one average a shift (tailbound reduce), or accept them as they are (acceptDependent, --accept-dependent)",
			d.Pairs, d.Correlation, len(readings), d.EffectiveReadings).Violations
		return nil, f
	default:
		add(dependentNote, report.Warning, "%s follow one another within a shift and depend on each other: over %d pairs the "+
			"logarithm of a reading correlates with that of the next by %.2f, so that the %d readings are worth about %.3g independent "+
			"ones. They were accepted and taken as independent: every limit is too narrow, and the answer describes the sampled time "+
			"rather than the exposure across shifts.", which, d.Pairs, d.Correlation, len(readings), d.EffectiveReadings)
	}
	return found, nil
}

// ownReadings is what the readings of the request are called.
const ownReadings = "The readings"

// carriedIndependence asks the same of the earlier readings that a prior carries. What is known of them is in the notes alone.
func carriedIndependence(o *Options, add adder) error {
	if o.Prior.Carried == nil {
		return nil
	}
	_, err := independence("The earlier readings", o.Prior.Carried.Readings, o.AcceptDependent, add)
	return fault.Under("prior.carried", err)
}

// followingNotes repeats what an assessment says of readings that follow one another, under the name of its campaign.
func followingNotes(a *report.Assessment) []report.Note {
	var out []report.Note
	for _, n := range a.Notes {
		if n.Code == followingNote || n.Code == dependentNote {
			out = append(out, report.Note{Code: n.Code, Severity: n.Severity, Text: a.Name + ": " + n.Text})
		}
	}
	return out
}

// dependenceMethod says how the correlation is found and judged.
func dependenceMethod() report.Method {
	return report.Method{
		Quantity: "dependence", Method: "correlation of ln reading with that of the next, pairs of one zone and subject of at most 4 hours; " +
			"Fisher's z, one-sided at 1 %; n (1 - r)/(1 + r) readings",
		Source: "Fisher 1921, Bartlett 1946, Bayley and Hammersley 1946 (from memory); the pairs are our own rule",
	}
}

// teach makes an adder of a list of notes.
func teach(notes *[]report.Note) adder {
	return func(code string, severity report.Severity, format string, args ...any) {
		*notes = append(*notes, report.Note{Code: code, Severity: severity, Text: fmt.Sprintf(format, args...)})
	}
}
