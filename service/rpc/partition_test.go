package rpc

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/wire"
)

// iron is ln(iron) of six wells of USEPA Unified Guidance example 13-2 (EPA 530/R-09-007, 2009), in ppm.
func iron() *tailboundv1.PartitionGroupRequest {
	wells := map[string][]float64{
		"1": {57.97, 54.05, 29.96, 46.06}, "2": {46.06, 76.71, 32.14, 68.03}, "3": {100.48, 170.72, 39.25, 52.98},
		"4": {34.12, 93.69, 70.81, 83.10}, "5": {60.95, 72.97, 244.69, 202.35}, "6": {83.10, 183.09, 198.34, 160.77},
	}
	r := &tailboundv1.PartitionGroupRequest{Agent: "iron", Unit: "ppm", Limit: &tailboundv1.Limit{Value: 300}}
	for _, name := range []string{"1", "2", "3", "4", "5", "6"} {
		for _, v := range wells[name] {
			reading := messages.Value(v)
			reading.Zone = name
			r.Readings = append(r.Readings, reading)
		}
	}
	return r
}

func partitionOf(t *testing.T, r *tailboundv1.PartitionGroupRequest) (*tailboundv1.PartitionGroupResponse, error) {
	t.Helper()
	return assessmentService{Server: New(Options{})}.PartitionGroup(context.Background(), r)
}

// F and p as printed in the handbook; REML as computed with R's lme4 (0.152625, 0.255755).
func TestPartitionGroup(t *testing.T) {
	t.Parallel()
	a, err := partitionOf(t, iron())
	require.NoError(t, err)
	require.InDelta(t, 3.3871, a.GetFTest().GetStatistic(), 5e-5)
	require.InDelta(t, 0.02486, a.GetFTest().GetPValue(), 5e-6)
	between, within := a.GetBetween().GetSigma().GetEstimate(), a.GetWithin().GetSigma().GetEstimate()
	require.InDelta(t, 0.152625, between*between, 5e-7)
	require.InDelta(t, 0.255755, within*within, 5e-7)
	require.InDelta(t, 4.625, a.GetPercentileRatio().GetEstimate(), 5e-4)
	require.Len(t, a.GetZones(), 6)
	require.NotEmpty(t, a.GetPooling().GetReason())
	require.NotEmpty(t, a.GetMethods())
	messages.RequireFinite(t, a)
}

func TestPartitionBothWays(t *testing.T) {
	t.Parallel()
	a, err := partitionOf(t, iron())
	require.NoError(t, err)
	back := wire.FromPartition(wire.ToPartition(a))
	// The classical estimates are not printed, so a client does not keep them.
	back.Between.AnalysisOfVariance, back.Within.AnalysisOfVariance = a.Between.AnalysisOfVariance, a.Within.AnalysisOfVariance
	require.True(t, proto.Equal(a, back), "%v\n%v", a, back)
}

func TestPartitionIsChecked(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*tailboundv1.PartitionGroupRequest)
		code   fault.Code
		says   string
	}{
		"no zone":    {func(r *tailboundv1.PartitionGroupRequest) { r.Readings[2].Zone = "" }, fault.InvalidArgument, "readings[2].zone: is empty"},
		"no subject": {func(r *tailboundv1.PartitionGroupRequest) { r.By = 2 }, fault.InvalidArgument, "readings[0].subject: is empty"},
		"unknown":    {func(r *tailboundv1.PartitionGroupRequest) { r.By = 7 }, fault.InvalidArgument, "by: is 7"},
		"nothing":    {func(r *tailboundv1.PartitionGroupRequest) { r.Readings = nil }, fault.InvalidArgument, "readings: is empty"},
		"one zone":   {func(r *tailboundv1.PartitionGroupRequest) { r.Readings = r.Readings[:4] }, fault.Undetermined, "zone"},
		"units":      {func(r *tailboundv1.PartitionGroupRequest) { r.Limit.Unit = "mg/m3" }, fault.InvalidArgument, "limit.unit"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := iron()
			c.change(r)
			_, err := partitionOf(t, r)
			require.Equal(t, c.code, fault.CodeOf(err), err)
			require.ErrorContains(t, err, c.says)
		})
	}
}
