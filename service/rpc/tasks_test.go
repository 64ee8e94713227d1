package rpc

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/rpc/wire"
)

// tasked asks for what full cannot ask for beside its averaging period, and for the distribution within each task.
func tasked() *tailboundv1.TraceHeader {
	task := func(name string, minute int, length time.Duration) *tailboundv1.TraceTask {
		return &tailboundv1.TraceTask{
			Name: name, Start: timestamppb.New(dawn.Add(time.Duration(minute) * time.Minute)), Length: durationpb.New(length),
		}
	}
	return &tailboundv1.TraceHeader{
		Channels: []*tailboundv1.TraceChannel{{
			Agent: "dust", Unit: "mg/m3", DetectionLimit: 0.5, FullScale: new(50.0), ResultUnit: "µg/m3", Level: new(2500.0),
			ParticleSizes: &tailboundv1.ParticleSizes{Lower: 0.3, Upper: 2.5}, Fraction: tailboundv1.ParticleFraction_PARTICLE_FRACTION_RESPIRABLE,
		}},
		Interval: durationpb.New(time.Minute), WithinPeriod: true,
		Tasks: []*tailboundv1.TraceTask{task("weighing", 0, 20*time.Minute), task("bagging", 10, 20*time.Minute), task("gone", 300, time.Hour)},
	}
}

// clocked begins its periods at midnight of a later day.
func clocked() *tailboundv1.TraceHeader {
	h := full()
	h.PeriodOrigin, h.WithinPeriod = timestamppb.New(dawn.AddDate(0, 0, 3).Add(-6*time.Hour)), true
	h.Channels[0].Level = new(2.0)
	return h
}

func TestReduceTraceByTasks(t *testing.T) {
	t.Parallel()
	values := make([]float64, 30)
	for i := range values {
		values[i] = float64(1 + i%4)
	}
	a, err := reduceAll(header(tasked()), minutes(0, 1, values...))
	require.NoError(t, err)
	require.Len(t, a.GetReadings(), 2)
	first, second := a.GetReadings()[0], a.GetReadings()[1]
	require.Equal(t, "weighing", first.GetReading().GetId())
	require.Equal(t, "bagging", second.GetReading().GetId())
	require.InDelta(t, 2500, first.GetReading().GetValue(), 1e-9)
	require.Equal(t, dawn.Add(10*time.Minute), second.GetReading().GetStart().AsTime())
	// 1, 2, 3, 4 over and over: the fourth root of 24, in µg/m³, and half of the time over 2500.
	require.InDelta(t, 2213.3638394, first.GetWithin().GetGeometricMean(), 1e-6)
	require.InDelta(t, 0.5, first.GetWithin().GetAboveLevelLower(), 1e-12)
	require.InDelta(t, 0.5, first.GetWithin().GetAboveLevelUpper(), 1e-12)
	require.Len(t, first.GetCorrelations(), 13, "10 log10(20)")
	require.InDelta(t, first.GetAutocorrelation(), first.GetCorrelations()[0], 0)
	codes := map[string]bool{}
	for _, n := range a.GetNotes() {
		codes[n.GetCode()] = true
	}
	require.True(t, codes["tasks-not-met"] && codes["particles-too-large-for-sensor"] && codes["within-period"], codes)

	back := wire.FromTrace(wire.ToTrace(a))
	for i, r := range back.GetReadings() {
		require.Equal(t, a.GetReadings()[i].GetWithin().String(), r.GetWithin().String())
		require.Equal(t, a.GetReadings()[i].GetReading().String(), r.GetReading().String())
		require.Equal(t, a.GetReadings()[i].GetCorrelations(), r.GetCorrelations())
	}
}

func TestReduceTraceByTheClock(t *testing.T) {
	t.Parallel()
	a, err := reduceAll(header(clocked()), minutes(0, 2, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17))
	require.NoError(t, err)
	require.Len(t, a.GetReadings(), 4)
	require.Equal(t, dawn, a.GetReadings()[0].GetReading().GetStart().AsTime(), "the warm-up is within the first quarter of an hour")
	require.InDelta(t, 14.0/15, a.GetReadings()[0].GetCoverage(), 1e-12)
	require.Equal(t, dawn.Add(15*time.Minute), a.GetReadings()[2].GetReading().GetStart().AsTime())
}

func TestTasksAreChecked(t *testing.T) {
	t.Parallel()
	for want, spoil := range map[string]func(*tailboundv1.TraceHeader){
		"header.tasks[1].name: is empty":                             func(h *tailboundv1.TraceHeader) { h.Tasks[1].Name = "" },
		"header.tasks[0].start: is missing or not a time":            func(h *tailboundv1.TraceHeader) { h.Tasks[0].Start = nil },
		"header.tasks[0].length: is 0 s; accepted":                    func(h *tailboundv1.TraceHeader) { h.Tasks[0].Length = nil },
		"header.tasks: are stated beside averagingPeriod":            func(h *tailboundv1.TraceHeader) { h.AveragingPeriod = durationpb.New(time.Hour) },
		"header.periodOrigin: is stated without averagingPeriod":     func(h *tailboundv1.TraceHeader) { h.PeriodOrigin = timestamppb.New(dawn) },
		"header.periodOrigin: is missing or not a time":              func(h *tailboundv1.TraceHeader) { h.PeriodOrigin = &timestamppb.Timestamp{Nanos: -1} },
		"header.channels[0].level: is -1; accepted":                  func(h *tailboundv1.TraceHeader) { h.Channels[0].Level = new(-1.0) },
		"header.channels[0].level: is stated without withinPeriod":   func(h *tailboundv1.TraceHeader) { h.WithinPeriod = false },
		"header.channels[0].fraction: is 9, which is no fraction of": func(h *tailboundv1.TraceHeader) { h.Channels[0].Fraction = 9 },
		"header.channels[0].particleSizes.upper: is 0; accepted":     func(h *tailboundv1.TraceHeader) { h.Channels[0].ParticleSizes = &tailboundv1.ParticleSizes{} },
	} {
		h := tasked()
		spoil(h)
		_, err := reduceAll(header(h), minutes(0, 1, 1, 2))
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
}
