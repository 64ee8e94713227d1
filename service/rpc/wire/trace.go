package wire

import (
	"math"

	"google.golang.org/protobuf/types/known/durationpb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

// ToTraceOptions turns a header into options, with the defaults of the contract. It checks nothing.
func ToTraceOptions(h *tailboundv1.TraceHeader) assess.TraceOptions {
	o := assess.TraceOptions{
		Options: trace.Options{
			Period: h.GetAveragingPeriod().AsDuration(), WarmUp: h.GetWarmUp().AsDuration(), Interval: h.GetInterval().AsDuration(),
			SessionGap: h.GetSessionGap().AsDuration(), Coverage: trace.DefaultCoverage, SkipBackwards: h.GetSkipBackwards(),
			WithinPeriod: h.GetWithinPeriod(),
		},
		Zone: h.GetZone(), Subject: h.GetSubject(), Campaign: h.GetCampaign(),
	}
	if h.Coverage != nil {
		o.Coverage = h.GetCoverage()
	}
	if h.PeriodOrigin != nil {
		o.PeriodOrigin = h.GetPeriodOrigin().AsTime()
	}
	for _, k := range h.GetTasks() {
		o.Tasks = append(o.Tasks, trace.Task{Name: k.GetName(), Start: k.GetStart().AsTime(), Length: k.GetLength().AsDuration()})
	}
	for _, jump := range h.GetClockJumps() {
		o.ClockJumps = append(o.ClockJumps, trace.ClockJump{Row: jump.GetRow(), Ahead: jump.GetAhead().AsDuration()})
	}
	air := reading.Vapor{Temperature: reading.RoomTemperature, Pressure: reading.RoomPressure}
	if h.Temperature != nil {
		air.Temperature = h.GetTemperature()
	}
	if h.Pressure != nil {
		air.Pressure = h.GetPressure()
	}
	for _, c := range h.GetChannels() {
		air.MolarMass = c.GetMolarMass()
		o.Measured = append(o.Measured, toMeasured(c, air))
		o.Channels = append(o.Channels, toChannel(c))
	}
	if b := h.GetBase(); b != nil {
		o.Base = &trace.Base{
			Length: b.GetLength().AsDuration(), Gaps: toUnsampled(b.GetGaps()), Outside: toUnsampled(b.GetOutside()),
		}
	}
	return o
}

func toMeasured(c *tailboundv1.TraceChannel, air reading.Vapor) assess.TraceChannel {
	out := assess.TraceChannel{
		Agent: c.GetAgent(), Unit: reading.Unit(c.GetUnit()), Line: c.GetSamplingLine(), Result: reading.Unit(c.GetResultUnit()), Vapor: air,
		Level: c.Level,
	}
	if s := c.GetParticleSizes(); s != nil {
		out.Sizes = &assess.ParticleSizes{Lower: s.GetLower(), Upper: s.GetUpper()}
	}
	switch c.GetFraction() {
	case tailboundv1.ParticleFraction_PARTICLE_FRACTION_INHALABLE:
		out.Fraction = assess.Inhalable
	case tailboundv1.ParticleFraction_PARTICLE_FRACTION_THORACIC:
		out.Fraction = assess.Thoracic
	case tailboundv1.ParticleFraction_PARTICLE_FRACTION_RESPIRABLE:
		out.Fraction = assess.Respirable
	default:
	}
	return out
}

func toChannel(c *tailboundv1.TraceChannel) trace.Channel {
	out := trace.Channel{DetectionLimit: c.GetDetectionLimit(), FullScale: math.Inf(1)}
	if c.FullScale != nil {
		out.FullScale = c.GetFullScale()
	}
	if k := c.GetCalibration(); k != nil {
		out.Calibration = &trace.Calibration{
			Gas: k.GetGas(), Before: toCalibrationCheck(k.GetBefore()), After: toCalibrationCheck(k.GetAfter()),
			Tolerance: trace.DefaultTolerance, Correct: k.GetCorrect(),
		}
		if k.Tolerance != nil {
			out.Calibration.Tolerance = k.GetTolerance()
		}
	}
	return out
}

func toCalibrationCheck(c *tailboundv1.CalibrationCheck) trace.Check {
	return trace.Check{At: c.GetTime().AsTime(), Zero: c.GetZero(), Span: c.GetSpan()}
}

func toUnsampled(u tailboundv1.UnsampledTime) trace.Assumption {
	switch u {
	case tailboundv1.UnsampledTime_UNSAMPLED_TIME_ZERO:
		return trace.Zero
	case tailboundv1.UnsampledTime_UNSAMPLED_TIME_SAME:
		return trace.Same
	default:
		return trace.Unknown
	}
}

// FromTrace turns the answer into that of the contract. What is not finite is left out.
func FromTrace(a *report.Trace) *tailboundv1.ReduceTraceResponse {
	r := &tailboundv1.ReduceTraceResponse{
		Readings: each(a.Averages, fromAverage), Notes: each(a.Notes, fromNote), Methods: each(a.Methods, fromMethod),
		Caution: a.Caution,
		Report: &tailboundv1.TraceReport{
			Rows: a.Report.Rows, Interval: durationpb.New(a.Report.Interval), Sessions: count(a.Report.Sessions),
			WarmUpRows: a.Report.WarmUp, BackwardsRows: a.Report.Backwards, Channels: each(a.Report.Channels, fromChannelReport),
		},
	}
	if a.Report.Backwards > 0 {
		r.Report.FirstBackwardsRow = &a.Report.FirstBackwards
	}
	for i, c := range a.Channels {
		if d := c.Drift; d != nil && finite(d.ZeroBefore, d.SpanBefore, d.ZeroAfter, d.SpanAfter) {
			r.Report.Channels[i].Drift = &tailboundv1.CalibrationDrift{
				ZeroBefore: d.ZeroBefore, SpanBefore: d.SpanBefore, ZeroAfter: d.ZeroAfter, SpanAfter: d.SpanAfter, Passed: d.Passed,
			}
		}
	}
	return r
}

func fromChannelReport(c *trace.Counts, p *tailboundv1.ChannelReport) {
	p.BlankRows, p.DuplicateRows = c.Blank, c.Duplicates
}

func fromAverage(a *report.TraceAverage, p *tailboundv1.TraceReading) {
	p.Agent, p.Unit, p.Session, p.Usable = a.Agent, string(a.Unit), count(a.Session), a.Usable
	p.Reading, p.Coverage = fromResult(&a.Reading), a.Coverage
	p.Values, p.Below, p.Over, p.Negative = count(a.Values), count(a.Below), count(a.Over), count(a.Negative)
	p.Gaps, p.LongestGap = count(a.Gaps), durationpb.New(a.LongestGap)
	p.Peak, p.PeakTime = optional(a.Peak), fromTime(a.PeakAt)
	p.Autocorrelation, p.EffectiveValues = optional(a.Autocorrelation), optional(a.Effective)
	if a.Largest.Found {
		p.Largest_15MinuteMean, p.Largest_15MinuteMeanUpper = optional(a.Largest.Lower), optional(a.Largest.Upper)
		p.Largest_15MinuteStart = fromTime(a.LargestStart)
	}
	if a.OverBase != nil {
		p.OverBase = fromResult(a.OverBase)
	}
	if finite(a.Correlations...) {
		p.Correlations = a.Correlations
	}
	if w := a.Within; w != nil {
		p.Within = &tailboundv1.WithinPeriod{
			AboveLevelLower: optional(w.AboveLower), AboveLevelUpper: optional(w.AboveUpper), Text: w.Text,
		}
		if finite(w.GeometricMean, w.GeometricStandardDeviation, w.Percentile95) {
			p.Within.GeometricMean, p.Within.GeometricStandardDeviation = &w.GeometricMean, &w.GeometricStandardDeviation
			p.Within.Percentile_95 = &w.Percentile95
		}
	}
}

// fromResult leaves out a result that is not known.
func fromResult(r *report.TraceResult) *tailboundv1.Reading {
	p := fromReading(&r.Reading)
	if !r.Known {
		p.Result = nil
	}
	return p
}

// ToTrace turns an answer back, for a client that prints it. It keeps what the forms of the report show.
func ToTrace(r *tailboundv1.ReduceTraceResponse) *report.Trace {
	return &report.Trace{
		Averages: list(r.GetReadings(), toAverage), Notes: list(r.GetNotes(), toNote),
		Methods: list(r.GetMethods(), toMethod), Caution: r.GetCaution(),
		Report: trace.Report{
			Rows: r.GetReport().GetRows(), Interval: r.GetReport().GetInterval().AsDuration(), Sessions: int(r.GetReport().GetSessions()),
			WarmUp: r.GetReport().GetWarmUpRows(), Backwards: r.GetReport().GetBackwardsRows(), FirstBackwards: r.GetReport().GetFirstBackwardsRow(),
		},
	}
}

func toAverage(p *tailboundv1.TraceReading) report.TraceAverage {
	a := report.TraceAverage{Agent: p.GetAgent(), Unit: reading.Unit(p.GetUnit()), Reading: toResult(p.GetReading())}
	a.Session, a.Usable, a.Coverage = int(p.GetSession()), p.GetUsable(), p.GetCoverage()
	a.Start, a.Length = a.Reading.Start, a.Reading.Duration
	a.Values, a.Below, a.Over, a.Negative = int(p.GetValues()), int(p.GetBelow()), int(p.GetOver()), int(p.GetNegative())
	a.Gaps, a.LongestGap = int(p.GetGaps()), p.GetLongestGap().AsDuration()
	a.Peak, a.Autocorrelation, a.Effective = orNaN(p.Peak), orNaN(p.Autocorrelation), orNaN(p.EffectiveValues)
	if p.PeakTime != nil {
		a.PeakAt = p.GetPeakTime().AsTime()
	}
	if p.Largest_15MinuteMean != nil {
		a.Largest.Found, a.Largest.Lower, a.Largest.Upper = true, p.GetLargest_15MinuteMean(), math.Inf(1)
		a.LargestStart = p.GetLargest_15MinuteStart().AsTime()
		if p.Largest_15MinuteMeanUpper != nil {
			a.Largest.Upper = p.GetLargest_15MinuteMeanUpper()
		}
	}
	if p.OverBase != nil {
		over := toResult(p.GetOverBase())
		a.OverBase = &over
	}
	a.Task, a.Correlations = a.Reading.ID, p.GetCorrelations()
	if w := p.GetWithin(); w != nil {
		a.Within = &report.WithinPeriod{
			GeometricMean: orNaN(w.GeometricMean), GeometricStandardDeviation: orNaN(w.GeometricStandardDeviation),
			Percentile95: orNaN(w.Percentile_95), AboveLower: orNaN(w.AboveLevelLower), AboveUpper: orNaN(w.AboveLevelUpper), Text: w.GetText(),
		}
	}
	return a
}

func toResult(p *tailboundv1.Reading) report.TraceResult {
	return report.TraceResult{Reading: ToReading(p), Known: p.GetResult() != nil}
}
