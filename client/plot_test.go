package client_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/types/known/timestamppb"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
)

// The four calls that draw, against the true service.
func TestPlots(t *testing.T) {
	t.Parallel()
	conn, stop, err := service.Embedded(service.DefaultOptions())
	require.NoError(t, err)
	defer func() { require.NoError(t, stop()) }()
	c := client.New(conn)
	readings := []*tailboundv1.Reading{
		{Result: &tailboundv1.Reading_Value{Value: 0.1}}, {Result: &tailboundv1.Reading_Value{Value: 0.2}}, {Result: &tailboundv1.Reading_Value{Value: 0.4}},
	}
	limit := &tailboundv1.Limit{Value: 2}
	group, err := c.PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{Group: &tailboundv1.AssessGroupRequest{Readings: readings, Limit: limit}})
	require.NoError(t, err)
	campaigns, err := c.PlotCampaigns(t.Context(), &tailboundv1.PlotCampaignsRequest{Comparison: &tailboundv1.CompareCampaignsRequest{
		Campaigns: []*tailboundv1.Campaign{{Name: "a", Readings: readings}, {Name: "b", Readings: readings[:2]}}, Limit: limit,
	}})
	require.NoError(t, err)
	sampling, err := c.PlotSampling(t.Context(), &tailboundv1.PlotSamplingRequest{Plan: &tailboundv1.PlanSamplingRequest{
		Limit: limit, GeometricMean: new(0.2), GeometricStandardDeviation: new(2.0), SamplesUpper: new(int32(6)),
	}})
	require.NoError(t, err)
	header := &tailboundv1.PlotTraceHeader{Trace: &tailboundv1.TraceHeader{Channels: []*tailboundv1.TraceChannel{{Agent: "ozone", Unit: "ppm"}}}}
	row := &tailboundv1.TraceValues{}
	for i := range 3 {
		row.Times = append(row.Times, timestamppb.New(time.Date(2026, 3, 9, 6, i, 0, 0, time.UTC)))
		row.Values = append(row.Values, float64(i))
	}
	trace, err := c.PlotTrace(t.Context(), header, func(yield func(*tailboundv1.TraceValues, error) bool) { yield(row, nil) })
	require.NoError(t, err)
	for _, d := range []*tailboundv1.Document{group.GetDocument(), campaigns.GetDocument(), sampling.GetDocument(), trace.GetDocument()} {
		require.Equal(t, "image/svg+xml", d.GetMediaType())
		require.Contains(t, string(d.GetContent()), "</svg>")
	}
	_, err = c.PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{
		Group: &tailboundv1.AssessGroupRequest{Readings: readings[:1]}, Figure: tailboundv1.GroupFigure_GROUP_FIGURE_POSTERIOR,
	})
	require.True(t, client.IsUndetermined(err), "%v", err)
	_, err = c.PlotTrace(t.Context(), nil, func(func(*tailboundv1.TraceValues, error) bool) {})
	require.True(t, client.IsInvalid(err), "%v", err)
}
