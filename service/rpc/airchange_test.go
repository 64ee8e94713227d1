package rpc

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/wire"
)

func estimateAirChange(r *tailboundv1.EstimateAirChangeRequest) (*tailboundv1.EstimateAirChangeResponse, error) {
	return traceService{Server: New(Options{MaxReadings: 100})}.EstimateAirChange(context.Background(), r)
}

// decay falls from 1500 to 700 ppm over 420 in an hour.
func decay() *tailboundv1.EstimateAirChangeRequest {
	r := &tailboundv1.EstimateAirChangeRequest{Background: 420, Unit: "ppm", Zone: "room 12"}
	for i := range 13 {
		r.Times = append(r.Times, timestamppb.New(dawn.Add(time.Duration(i)*5*time.Minute)))
		r.Values = append(r.Values, 420+1080*math.Pow(280.0/1080, float64(i)/12))
	}
	return r
}

// The rate is ln(1080 / 280) = 1.34993 an hour: see the test of the stage.
func TestEstimateAirChange(t *testing.T) {
	t.Parallel()
	a, err := estimateAirChange(decay())
	require.NoError(t, err)
	require.InDelta(t, 1.34993, a.GetRate().GetEstimate(), 5e-6)
	require.InDelta(t, 0.95, a.GetConfidence(), 0)
	require.Equal(t, int32(13), a.GetValues())
	require.Equal(t, time.Hour, a.GetDuration().AsDuration())
	require.Equal(t, "room 12", a.GetZone())
	require.NotEmpty(t, a.GetNotes())
	require.NotEmpty(t, a.GetMethods())
	require.NotEmpty(t, a.GetCaution())
	require.True(t, proto.Equal(a, wire.FromAirChange(wire.ToAirChange(a))), "what is printed is all that was answered")
}

func TestEstimateAirChangeChecksTheRequest(t *testing.T) {
	t.Parallel()
	for want, spoil := range map[string]func(*tailboundv1.EstimateAirChangeRequest){
		"values: has 12 entries for 13 times; accepted are at least 3":                         func(r *tailboundv1.EstimateAirChangeRequest) { r.Values = r.GetValues()[:12] },
		"times[1]: is missing or not a time":                                                   func(r *tailboundv1.EstimateAirChangeRequest) { r.Times[1] = nil },
		"times: entry 1 is not after the one before":                                           func(r *tailboundv1.EstimateAirChangeRequest) { r.Times[1] = r.Times[0] },
		"confidence: is 1; accepted is a number from 0.5 to 0.9999":                            func(r *tailboundv1.EstimateAirChangeRequest) { r.Confidence = new(1.0) },
		"background: is -1; accepted":                                                          func(r *tailboundv1.EstimateAirChangeRequest) { r.Background = -1 },
		"background: is NaN; accepted":                                                         func(r *tailboundv1.EstimateAirChangeRequest) { r.Background = math.NaN() },
		"values: entry 12, of 2026-03-09T07:00:00Z, is 700, not above the background 700: end": func(r *tailboundv1.EstimateAirChangeRequest) { r.Background, r.Values[12] = 700, 700 },
	} {
		r := decay()
		spoil(r)
		_, err := estimateAirChange(r)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
	_, err := estimateAirChange(&tailboundv1.EstimateAirChangeRequest{Values: make([]float64, 101)})
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = traceService{Server: New(Options{})}.EstimateAirChange(ctx, decay())
	require.ErrorIs(t, err, context.Canceled)
}

// FuzzEstimateAirChange holds the way from a request to an answer to finite numbers, or an error that is the caller's to read.
func FuzzEstimateAirChange(f *testing.F) {
	wide := decay()
	wide.Values[3], wide.Confidence = 1e308, new(0.9999)
	for _, r := range []*tailboundv1.EstimateAirChangeRequest{decay(), wide, {}} {
		data, err := proto.Marshal(r)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r := new(tailboundv1.EstimateAirChangeRequest)
		if proto.Unmarshal(data, r) != nil {
			return
		}
		a, err := estimateAirChange(r)
		if err != nil {
			if fault.CodeOf(err) == fault.Internal {
				t.Fatalf("%v: %v", err, unwrap(err))
			}
			return
		}
		messages.RequireFinite(t, a)
	})
}
