package assess

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

// TraceChannel is what a channel of a trace measured, beside what the stage needs to know of its sensor.
type TraceChannel struct {
	Agent string
	Unit  reading.Unit
	// Line says that the air came through a pumped sampling line.
	Line bool
	// Result is the unit of the readings; empty means Unit. Vapor is what it takes to get there.
	Result reading.Unit
	Vapor  reading.Vapor
	// Level is one, in the unit of the readings, that the time over it is told for; nil when there is none.
	Level *float64
	// Sizes is nil for a gas and where they are not known. Fraction is the one that the limit is stated for.
	Sizes    *ParticleSizes
	Fraction Fraction
}

// resultUnit is the unit of the readings.
func (c *TraceChannel) resultUnit() reading.Unit {
	if c.Result == "" {
		return c.Unit
	}
	return c.Result
}

// check returns a fault, with the path inside the header, when the values cannot be turned into the unit of the readings.
func (c *TraceChannel) check(path string) error {
	err := c.Vapor.Check()
	if err == nil {
		_, err = c.Vapor.Convert(1, c.Unit, c.resultUnit())
	}
	var f *fault.Error
	switch {
	case err == nil:
		return fault.Under(path, c.Sizes.check())
	case !errors.As(err, &f) || len(f.Violations) == 0:
		return err
	case f.Violations[0].Field == "":
		return fault.Under(path+".resultUnit", err)
	case f.Violations[0].Field == "molarMass":
		return fault.Under(path, err)
	default:
		return err // The air is that of all channels.
	}
}

// level is the channel's level in the unit of its values, 0 when there is none.
func (c *TraceChannel) level(path string) (float64, error) {
	if c.Level == nil {
		return 0, nil
	}
	if !(*c.Level > 0) || math.IsInf(*c.Level, 1) {
		return 0, fault.Invalid(path+".level", "is %v; accepted is a finite number greater than 0", *c.Level)
	}
	return c.Vapor.Convert(*c.Level, c.resultUnit(), c.Unit)
}

// convert puts bounds into the unit of the readings. The check has shown that there is a way.
func (c *TraceChannel) convert(b *trace.Bounds) error {
	for _, v := range []*float64{&b.Lower, &b.Upper} {
		converted, err := c.Vapor.Convert(*v, c.Unit, c.resultUnit())
		if err != nil {
			return err
		}
		*v = converted
	}
	return nil
}

// TraceOptions says what a trace is and how to average it.
type TraceOptions struct {
	trace.Options
	// Measured has one entry for each of Options.Channels.
	Measured []TraceChannel
	// Zone, Subject and Campaign are given to every reading.
	Zone, Subject, Campaign string
	// Base is nil when no average over a base is asked for. Its Top is the full scale of each channel.
	Base *trace.Base
}

// Reduction takes a trace row by row and makes readings of it. It is for one goroutine.
type Reduction struct {
	*trace.Reducer
	options TraceOptions
}

// NewReduction returns a reduction. The error is a fault that names the option at fault.
func NewReduction(o TraceOptions) (*Reduction, error) {
	if o.Base != nil && o.Base.Length <= 0 {
		return nil, fault.Invalid("base.length", "is %s; accepted is a length of time greater than 0", trace.Length(o.Base.Length))
	}
	o.Channels = slices.Clone(o.Channels)
	for i := range o.Measured {
		path := "channels[" + strconv.Itoa(i) + "]"
		if err := o.Measured[i].check(path); err != nil {
			return nil, err
		}
		var err error
		if o.Channels[i].Level, err = o.Measured[i].level(path); err != nil {
			return nil, err
		}
	}
	r, err := trace.NewReducer(o.Options)
	if err != nil {
		return nil, err
	}
	return &Reduction{Reducer: r, options: o}, nil
}

// Finish ends the trace. The error is a fault.
func (r *Reduction) Finish() (*report.Trace, error) {
	result, err := r.Reducer.Finish()
	if err != nil {
		return nil, err
	}
	a := &report.Trace{
		Report: result.Report, Caution: report.Caution, Methods: traceMethods(&r.options),
		Channels: make([]report.TraceChannel, len(r.options.Measured)), Averages: make([]report.TraceAverage, len(result.Averages)),
	}
	for i, c := range r.options.Measured {
		a.Channels[i] = report.TraceChannel{Agent: c.Agent, Unit: c.resultUnit()}
		if calibration := r.options.Channels[i].Calibration; calibration != nil {
			drift := calibration.Drift()
			a.Channels[i].Drift = &drift
		}
	}
	for i := range result.Averages {
		if a.Averages[i], err = r.average(&result.Averages[i]); err != nil {
			return nil, err
		}
	}
	a.Notes = traceNotes(a, &r.options)
	return a, nil
}

// average makes the readings of one average.
func (r *Reduction) average(v *trace.Average) (report.TraceAverage, error) {
	o := &r.options
	measured := &o.Measured[v.Channel]
	a := report.TraceAverage{Average: *v, Agent: measured.Agent, Unit: measured.resultUnit()}
	peak := trace.Exactly(v.Peak)
	for _, b := range []*trace.Bounds{&a.Bounds, &a.Largest.Bounds, &peak} {
		if err := measured.convert(b); err != nil {
			return a, err
		}
	}
	a.Peak, a.Reading = peak.Lower, r.result(v, a.Bounds, v.Length)
	a.Usable = v.Usable && a.Reading.Known
	if o.WithinPeriod {
		var err error
		if a.Within, err = within(v, &o.Channels[v.Channel], measured); err != nil {
			return a, err
		}
	}
	if o.Base == nil {
		return a, nil
	}
	over := trace.Exactly(math.NaN())
	if v.Observed > 0 {
		base := *o.Base
		base.Top = o.Channels[v.Channel].FullScale
		var err error
		if over, err = v.OverBase(base); err != nil {
			return a, err
		}
		if err = measured.convert(&over); err != nil {
			return a, err
		}
	}
	result := r.result(v, over, o.Base.Length)
	a.OverBase = &result
	return a, nil
}

// result makes a reading of bounds over a length of time.
func (r *Reduction) result(v *trace.Average, b trace.Bounds, length time.Duration) report.TraceResult {
	out := report.ResultOf(b)
	out.Zone, out.Subject, out.Campaign = r.options.Zone, r.options.Subject, r.options.Campaign
	out.Start, out.Duration, out.ID = v.Start, length, v.Task
	return out
}

// traceMethods says which formula gave each number.
func traceMethods(o *TraceOptions) []report.Method {
	out := []report.Method{
		{
			Quantity: "reading", Method: "time-weighted average over the covered time, with values under the detection limit in [0, limit] and " +
				"values over the range unbounded", Source: "29 CFR 1910.1000(d)(1); bounds instead of substitutes, own derivation",
		},
		{Quantity: "usable", Method: "covered fraction of the period", Source: "common practice; Directive 2008/50/EC, Annex VII asks 75 % of 1-h and 8-h means"},
		{Quantity: "largest15MinuteMean", Method: "every window of 15 minutes that begins or ends with a value and is covered to 80 %", Source: "common practice"},
		{
			Quantity: "correlations, effectiveValues", Method: "pairs without a gap between them, up to 30 lags and 10 log10(n); the smaller of " +
				"n (1 - r) / (1 + r), r of lag 1, and n / (1 + 2 sum r) over the initial positive sequence",
			Source: "Bayley and Hammersley 1946 (from memory); Geyer 1992, Statistical Science 7:473",
		},
	}
	if o.WithinPeriod {
		out = append(out, report.Method{
			Quantity: "within", Method: "maximum likelihood of a lognormal, each value weighted with the time it stands for, those under the detection limit " +
				"and over the full scale as censored; time over a level by count", Source: "textbook maximum likelihood with censoring, as in Helsel 2012, ch. 6 (from memory)",
		})
	}
	if o.Base != nil {
		out = append(out, report.Method{
			Quantity: "overBase", Method: "sum of concentration times length over " + trace.Length(o.Base.Length) + "; gaps: " + assumed(o.Base.Gaps) +
				", outside the trace: " + assumed(o.Base.Outside), Source: "29 CFR 1910.1000(d)(1)",
		})
	}
	out = append(out, sizeMethods(o)...)
	for i := range o.Measured {
		if c := &o.Measured[i]; c.Vapor.MolarMass > 0 && c.resultUnit() != c.Unit {
			out = append(out, report.Method{
				Quantity: "unit of " + c.Agent, Method: fmt.Sprintf("molar mass %g g/mol, molar volume %.6g l/mol at %g °C and %g kPa",
					c.Vapor.MolarMass, c.Vapor.MolarVolume(), c.Vapor.Temperature, c.Vapor.Pressure), Source: "ideal gas law",
			})
		}
	}
	for _, c := range o.Channels {
		if c.Calibration != nil {
			return append(out, report.Method{
				Quantity: "drift", Method: "zero and span move linearly from the check before to the one after", Source: "common practice",
			})
		}
	}
	return out
}

func assumed(a trace.Assumption) string {
	switch a {
	case trace.Zero:
		return "no exposure"
	case trace.Same:
		return "as in the sampled time"
	default:
		return "unknown"
	}
}

// reactive says whether an agent is lost on the walls of a sampling line (common practice; sticky gases in tubing: Deming et
// al. 2019, AMT 12:3453).
func reactive(agent string) bool {
	switch strings.ToLower(strings.TrimSpace(agent)) {
	case "chlorine", "cl2", "chlorine dioxide", "clo2", "hydrogen chloride", "hcl", "hydrogen fluoride", "hf", "ozone", "o3",
		"ammonia", "nh3", "nitrogen dioxide", "no2", "sulfur dioxide", "so2", "hydrogen sulfide", "h2s", "hydrogen cyanide", "hcn":
		return true
	default:
		return false
	}
}
