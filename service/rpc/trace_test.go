package rpc

import (
	"context"
	"io"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/wire"
)

// sent is a stream of messages that are all there.
type sent struct {
	grpc.ServerStream
	messages []*tailboundv1.ReduceTraceRequest
	answer   *tailboundv1.ReduceTraceResponse
}

func (s *sent) Context() context.Context { return context.Background() }

func (s *sent) Recv() (*tailboundv1.ReduceTraceRequest, error) {
	if len(s.messages) == 0 {
		return nil, io.EOF
	}
	m := s.messages[0]
	s.messages = s.messages[1:]
	return m, nil
}

func (s *sent) SendAndClose(m *tailboundv1.ReduceTraceResponse) error {
	s.answer = m
	return nil
}

func reduceAll(messages ...*tailboundv1.ReduceTraceRequest) (*tailboundv1.ReduceTraceResponse, error) {
	s := &sent{messages: messages}
	err := traceService{Server: New(Options{MaxReadings: 100})}.ReduceTrace(s)
	return s.answer, err
}

func header(h *tailboundv1.TraceHeader) *tailboundv1.ReduceTraceRequest {
	return &tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Header{Header: h}}
}

var dawn = time.Date(2026, 3, 9, 6, 0, 0, 0, time.UTC)

// minutes is a part with one row a minute from a minute after six on, each channel with the same value.
func minutes(from, channels int, values ...float64) *tailboundv1.ReduceTraceRequest {
	part := new(tailboundv1.TraceValues)
	for i, v := range values {
		part.Times = append(part.Times, timestamppb.New(dawn.Add(time.Duration(from+i)*time.Minute)))
		for range channels {
			part.Values = append(part.Values, v)
		}
	}
	return &tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Values{Values: part}}
}

// full asks for everything that a header can ask for.
func full() *tailboundv1.TraceHeader {
	check := func(hour int, zero, span float64) *tailboundv1.CalibrationCheck {
		return &tailboundv1.CalibrationCheck{Time: timestamppb.New(dawn.Add(time.Duration(hour) * time.Hour)), Zero: zero, Span: span}
	}
	return &tailboundv1.TraceHeader{
		Channels: []*tailboundv1.TraceChannel{
			{Agent: "Chlorine", Unit: "ppm", DetectionLimit: 1, FullScale: new(50.0), SamplingLine: true},
			{Agent: "carbon monoxide", Unit: "ppm", Calibration: &tailboundv1.TraceCalibration{
				Gas: 100, Before: check(-1, 0, 100), After: check(9, 20, 110), Correct: true,
			}},
		},
		Zone: "bay 3", Subject: "s1", Campaign: "spring", AveragingPeriod: durationpb.New(15 * time.Minute), WarmUp: durationpb.New(time.Minute),
		Coverage: new(0.5), Interval: durationpb.New(time.Minute), SessionGap: durationpb.New(time.Hour), SkipBackwards: true,
		ClockJumps: []*tailboundv1.ClockJump{{Row: 90, Ahead: durationpb.New(time.Hour)}},
		Base:       &tailboundv1.TraceBase{Length: durationpb.New(8 * time.Hour), Outside: tailboundv1.UnsampledTime_UNSAMPLED_TIME_ZERO},
	}
}

func TestReduceTrace(t *testing.T) {
	t.Parallel()
	values := make([]float64, 16)
	for i := range values {
		values[i] = float64(2 + i%3)
	}
	a, err := reduceAll(header(full()), minutes(0, 2, values...), minutes(16, 2, 0.5, 0.5, math.NaN(), 70, 70, 70, 70, 70, 70, 70))
	require.NoError(t, err)
	require.Len(t, a.GetReadings(), 4)
	first := a.GetReadings()[0]
	require.Equal(t, "Chlorine", first.GetAgent())
	require.InDelta(t, 3, first.GetReading().GetValue(), 1e-12)
	require.Equal(t, dawn.Add(time.Minute), first.GetReading().GetStart().AsTime())
	require.Equal(t, 15*time.Minute, first.GetReading().GetDuration().AsDuration())
	require.Equal(t, "bay 3 s1 spring", first.GetReading().GetZone()+" "+first.GetReading().GetSubject()+" "+first.GetReading().GetCampaign())
	require.InDelta(t, 3.0/32, first.GetOverBase().GetValue(), 1e-12, "15 minutes of 8 hours")
	require.Equal(t, 8*time.Hour, first.GetOverBase().GetDuration().AsDuration())
	require.InDelta(t, 3, first.GetLargest_15MinuteMean(), 1e-12)
	require.Less(t, a.GetReadings()[1].GetReading().GetValue(), 1.5, "the drift is taken out")
	second := a.GetReadings()[2]
	require.InDelta(t, (7*70.0)/9, second.GetReading().GetAbove(), 1e-12)
	require.Equal(t, int32(7), second.GetOver())
	require.True(t, second.GetUsable())
	require.Nil(t, second.Largest_15MinuteMean)

	codes := make([]string, len(a.GetNotes()))
	for i, n := range a.GetNotes() {
		codes[i] = n.GetCode()
	}
	require.Equal(t, []string{
		"dependent-averages", "reactive-gas", "drift", "clock-jump-not-met", "blank-and-duplicate-rows", "blank-and-duplicate-rows", "over-range",
		"negative-values", "base",
	}, codes)
	require.False(t, a.GetReport().GetChannels()[1].GetDrift().GetPassed())
	messages.RequireFinite(t, a)

	back := wire.FromTrace(wire.ToTrace(a))
	back.Report.Channels = a.GetReport().GetChannels() // Not printed, so that a client does not keep it.
	require.True(t, proto.Equal(a, back), "%v\n%v", a, back)
}

// What is not a reading has no result: nothing covered, nothing but 0.
func TestReduceTraceLeavesOutWhatIsNotKnown(t *testing.T) {
	t.Parallel()
	h := &tailboundv1.TraceHeader{Channels: []*tailboundv1.TraceChannel{{Agent: "CO", Unit: "ppm"}}, Base: full().GetBase()}
	for _, v := range []float64{0, math.NaN()} {
		a, err := reduceAll(header(h), minutes(0, 1, v, v, v))
		require.NoError(t, err)
		require.Len(t, a.GetReadings(), 1)
		require.Nil(t, a.GetReadings()[0].GetReading().GetResult())
		require.Nil(t, a.GetReadings()[0].GetOverBase().GetResult())
		require.False(t, a.GetReadings()[0].GetUsable())
	}
}

// Carbon monoxide, 28.01 g/mol: 10 ppm are 11.45 mg/m3 at 25 °C, 760 mmHg.
func TestReduceTraceConverts(t *testing.T) {
	t.Parallel()
	h := &tailboundv1.TraceHeader{
		Channels: []*tailboundv1.TraceChannel{{Agent: "CO", Unit: "ppm", ResultUnit: "mg/m3", MolarMass: 28.01, DetectionLimit: 2}},
		Base:     full().GetBase(), AveragingPeriod: durationpb.New(15 * time.Minute),
	}
	values := make([]float64, 30)
	for i := range values {
		if i < 15 {
			values[i] = 10
		}
	}
	a, err := reduceAll(header(h), minutes(0, 1, values...))
	require.NoError(t, err)
	first := a.GetReadings()[0]
	for _, v := range []float64{first.GetReading().GetValue(), first.GetPeak(), first.GetLargest_15MinuteMean(), 32 * first.GetOverBase().GetValue()} {
		require.InDelta(t, 11.449, v, 5e-4)
	}
	require.Equal(t, "mg/m3", first.GetUnit())
	require.InDelta(t, 2.2898, a.GetReadings()[1].GetReading().GetBelow(), 5e-5)
}

func TestReduceTraceRefuses(t *testing.T) {
	t.Parallel()
	spoiled := func(spoil func(*tailboundv1.TraceHeader)) []*tailboundv1.ReduceTraceRequest {
		h := full()
		spoil(h)
		return []*tailboundv1.ReduceTraceRequest{header(h), minutes(0, 2, 1, 2, 3)}
	}
	long := string(make([]byte, 300))
	for want, messages := range map[string][]*tailboundv1.ReduceTraceRequest{
		"header: is missing":                          nil,
		"header: is missing; the first":               {minutes(0, 1, 1)},
		"values: is missing":                          {header(full()), header(full())},
		"values.values: has 1 entries for 1 rows":     {header(full()), minutes(0, 1, 1)},
		"values.values: row 0, channel 0 is +Inf":     {header(full()), minutes(0, 2, math.Inf(1))},
		"values: has no rows":                         {header(full())},
		"header.channels: has 0 entries":              spoiled(func(h *tailboundv1.TraceHeader) { h.Channels = nil }),
		"header.channels[0].agent: has 300":           spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[0].Agent = long }),
		"header.channels[0].fullScale: is 0.5":        spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[0].FullScale = new(0.5) }),
		"header.zone: has 300":                        spoiled(func(h *tailboundv1.TraceHeader) { h.Zone = long }),
		"header.interval: is not a length":            spoiled(func(h *tailboundv1.TraceHeader) { h.Interval = &durationpb.Duration{Seconds: 1e11} }),
		"header.warmUp: is -1 s":                       spoiled(func(h *tailboundv1.TraceHeader) { h.WarmUp = durationpb.New(-time.Second) }),
		"header.coverage: is NaN":                     spoiled(func(h *tailboundv1.TraceHeader) { h.Coverage = new(math.NaN()) }),
		"header.channels[0].molarMass: is missing":    spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[0].ResultUnit = "mg/m3" }),
		"header.channels[0].molarMass: is -1":         spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[0].MolarMass = -1 }),
		`header.channels[0].resultUnit: "ppm" cannot`: spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[0].ResultUnit = "f/cm3" }),
		"header.pressure: is 0":                       spoiled(func(h *tailboundv1.TraceHeader) { h.Pressure = new(0.0) }),
		"header.base.gaps: is 9":                      spoiled(func(h *tailboundv1.TraceHeader) { h.Base.Gaps = 9 }),
		"header.base.length: is 0 s":                   spoiled(func(h *tailboundv1.TraceHeader) { h.Base.Length = nil }),
		"header.channels[1].calibration.after.time":   spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[1].Calibration.After = nil }),
		"header.channels[1].calibration.gas: is 0":    spoiled(func(h *tailboundv1.TraceHeader) { h.Channels[1].Calibration.Gas = 0 }),
		"header.clockJumps[0].row: is -1":             spoiled(func(h *tailboundv1.TraceHeader) { h.ClockJumps[0].Row = -1 }),
		"header.averagingPeriod: is 1 s, shorter tha":  spoiled(func(h *tailboundv1.TraceHeader) { h.AveragingPeriod = durationpb.New(time.Second) }),
	} {
		_, err := reduceAll(messages...)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), want)
	}
	_, err := reduceAll(header(full()), &tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Values{
		Values: &tailboundv1.TraceValues{Times: []*timestamppb.Timestamp{{Seconds: 1 << 60}}, Values: []float64{1, 2}},
	}})
	require.ErrorContains(t, err, "values.times: row 0 is not a time")
}

func TestReduceTraceBoundsItsAnswer(t *testing.T) {
	t.Parallel()
	h := full()
	h.AveragingPeriod = durationpb.New(time.Minute)
	_, err := reduceAll(header(h), minutes(0, 2, make([]float64, 60)...))
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))
}

// FuzzReduceTrace holds the way from messages to an answer to finite numbers, or an error that is the caller's to read.
func FuzzReduceTrace(f *testing.F) {
	for _, h := range []*tailboundv1.TraceHeader{full(), tasked(), clocked(), {Channels: []*tailboundv1.TraceChannel{{Agent: "CO", Unit: "ppm"}}}} {
		head, err := proto.Marshal(h)
		if err != nil {
			f.Fatal(err)
		}
		for _, v := range [][]float64{{1, 2, 3}, {0, 70, math.NaN(), 0.5}, {-1, 1e308, 1e308}} {
			part, err := proto.Marshal(minutes(0, len(h.GetChannels()), v...).GetValues())
			if err != nil {
				f.Fatal(err)
			}
			f.Add(head, part)
		}
	}
	f.Fuzz(func(t *testing.T, head, part []byte) {
		h, p := new(tailboundv1.TraceHeader), new(tailboundv1.TraceValues)
		if proto.Unmarshal(head, h) != nil || proto.Unmarshal(part, p) != nil {
			return
		}
		a, err := reduceAll(header(h), &tailboundv1.ReduceTraceRequest{Part: &tailboundv1.ReduceTraceRequest_Values{Values: p}})
		if err != nil {
			if fault.CodeOf(err) == fault.Internal {
				t.Fatalf("%v: %v", err, unwrap(err))
			}
			return
		}
		messages.RequireFinite(t, a)
	})
}
