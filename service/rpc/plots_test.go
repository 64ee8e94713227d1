package rpc

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/report"
)

func plotting() reportService { return reportService{Server: New(Options{MaxReadings: 100})} }

// plotted is a group of which every figure can be drawn.
func plotted() *tailboundv1.AssessGroupRequest {
	return &tailboundv1.AssessGroupRequest{
		Readings: []*tailboundv1.Reading{messages.Value(0.1), messages.Value(0.2), messages.Value(0.4), {Result: &tailboundv1.Reading_Below{Below: 0.05}}}, Unit: "mg/m3",
		Limit: &tailboundv1.Limit{Value: 2, Unit: "mg/m3"}, Name: "bay 3", Agent: "welding fume",
	}
}

// titleOf is the title of an SVG.
func titleOf(t *testing.T, d *tailboundv1.Document) string {
	t.Helper()
	require.Equal(t, "image/svg+xml", d.GetMediaType())
	var svg struct {
		Title string `xml:"title"`
	}
	require.NoError(t, xml.Unmarshal(d.GetContent(), &svg))
	return svg.Title
}

func TestPlotGroup(t *testing.T) {
	t.Parallel()
	for number, name := range tailboundv1.GroupFigure_name {
		a, err := plotting().PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{Group: plotted(), Figure: tailboundv1.GroupFigure(number)})
		require.NoError(t, err, name)
		want := map[int32]string{
			0: "Probability plot", 1: "Probability plot", 2: "Exposures above a concentration", 3: "Where the 95th percentile lies", 4: "Readings over time",
		}[number]
		require.Equal(t, want+": bay 3, welding fume", titleOf(t, a.GetDocument()), name)
	}
	wide, err := plotting().PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{Group: plotted()})
	require.NoError(t, err)
	narrow, err := plotting().PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{Group: plotted(), Format: tailboundv1.ImageFormat_IMAGE_FORMAT_NARROW_SVG})
	require.NoError(t, err)
	require.Equal(t, titleOf(t, wide.GetDocument()), titleOf(t, narrow.GetDocument()))
	require.Contains(t, string(wide.GetDocument().GetContent()), report.Caution+"</desc>")
	require.NotEqual(t, wide.GetDocument().GetContent(), narrow.GetDocument().GetContent())
	a, err := plotting().PlotGroup(t.Context(), &tailboundv1.PlotGroupRequest{Group: plotted(), Format: tailboundv1.ImageFormat_IMAGE_FORMAT_PNG})
	require.NoError(t, err)
	require.Equal(t, "image/png", a.GetDocument().GetMediaType())
	require.True(t, bytes.HasPrefix(a.GetDocument().GetContent(), []byte("\x89PNG")))
}

func TestPlotRefuses(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	one := plotted()
	one.Readings = one.GetReadings()[3:]
	for want, err := range map[string]error{
		"group.readings: is empty":            last(plotting().PlotGroup(ctx, &tailboundv1.PlotGroupRequest{})),
		"figure: is 9":                        last(plotting().PlotGroup(ctx, &tailboundv1.PlotGroupRequest{Group: plotted(), Figure: 9})),
		"format: is 7":                        last(plotting().PlotGroup(ctx, &tailboundv1.PlotGroupRequest{Group: plotted(), Format: 7})),
		"there is nothing to draw":            last(plotting().PlotGroup(ctx, &tailboundv1.PlotGroupRequest{Group: one, Figure: 2})),
		"comparison.campaigns: has 0 entries": last(plotting().PlotCampaigns(ctx, &tailboundv1.PlotCampaignsRequest{})),
		"format: is 8":                        last(plotting().PlotCampaigns(ctx, &tailboundv1.PlotCampaignsRequest{Format: 8})),
		"plan: asks nothing":                  last(plotting().PlotSampling(ctx, &tailboundv1.PlotSamplingRequest{})),
		"format: is 6":                        last(plotting().PlotSampling(ctx, &tailboundv1.PlotSamplingRequest{Format: 6})),
	} {
		require.ErrorContains(t, err, want)
		require.NotEqual(t, fault.Internal, fault.CodeOf(err), want)
	}
	gone, cancel := context.WithCancel(ctx)
	cancel()
	for _, err := range []error{last(plotting().PlotGroup(gone, nil)), last(plotting().PlotCampaigns(gone, nil)), last(plotting().PlotSampling(gone, nil))} {
		require.ErrorIs(t, err, context.Canceled)
	}
}

func last[T any](_ T, err error) error { return err }

func TestPlotCampaignsAndSampling(t *testing.T) {
	t.Parallel()
	g := plotted()
	c, err := plotting().PlotCampaigns(t.Context(), &tailboundv1.PlotCampaignsRequest{Comparison: &tailboundv1.CompareCampaignsRequest{
		Name: "hall", Unit: g.GetUnit(), Limit: g.GetLimit(),
		Campaigns: []*tailboundv1.Campaign{{Name: "spring", Readings: g.GetReadings()}, {Name: "autumn", Readings: g.GetReadings()[:3]}},
	}})
	require.NoError(t, err)
	require.Equal(t, "Campaigns side by side: hall", titleOf(t, c.GetDocument()))
	p, err := plotting().PlotSampling(t.Context(), &tailboundv1.PlotSamplingRequest{Plan: &tailboundv1.PlanSamplingRequest{
		Limit: g.GetLimit(), GeometricMean: new(0.2), GeometricStandardDeviation: new(2.0), SamplesUpper: new(int32(9)),
	}})
	require.NoError(t, err)
	require.Equal(t, "Chance of each outcome: EN 689:2018", titleOf(t, p.GetDocument()))
}

// drawn is a stream of messages that are all there.
type drawn struct {
	grpc.ServerStream
	messages []*tailboundv1.PlotTraceRequest
	answer   *tailboundv1.PlotTraceResponse
}

func (s *drawn) Context() context.Context { return context.Background() }

func (s *drawn) Recv() (*tailboundv1.PlotTraceRequest, error) {
	if len(s.messages) == 0 {
		return nil, io.EOF
	}
	m := s.messages[0]
	s.messages = s.messages[1:]
	return m, nil
}

func (s *drawn) SendAndClose(m *tailboundv1.PlotTraceResponse) error {
	s.answer = m
	return nil
}

// draw plots a trace; a nil header sends none.
func draw(h *tailboundv1.PlotTraceHeader, parts ...*tailboundv1.ReduceTraceRequest) (*tailboundv1.Document, error) {
	s := &drawn{}
	if h != nil {
		s.messages = append(s.messages, &tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Header{Header: h}})
	}
	for _, p := range parts {
		s.messages = append(s.messages, &tailboundv1.PlotTraceRequest{Part: &tailboundv1.PlotTraceRequest_Values{Values: p.GetValues()}})
	}
	err := plotting().PlotTrace(s)
	return s.answer.GetDocument(), err
}

func TestPlotTrace(t *testing.T) {
	t.Parallel()
	values := make([]float64, 40)
	for i := range values {
		values[i] = float64(2 + i%3)
		if i > 20 && i < 30 {
			values[i] = math.NaN()
		}
	}
	for channel, want := range []string{"Trace: bay 3, Chlorine", "Trace: bay 3, carbon monoxide"} {
		d, err := draw(&tailboundv1.PlotTraceHeader{Trace: full(), Channel: int32(channel)}, minutes(0, 2, values...))
		require.NoError(t, err)
		require.Equal(t, want, titleOf(t, d))
	}
	mass := full()
	mass.Channels[0].ResultUnit, mass.Channels[0].MolarMass = "mg/m3", 70.9
	d, err := draw(&tailboundv1.PlotTraceHeader{Trace: mass}, minutes(0, 2, values...))
	require.NoError(t, err)
	require.Contains(t, string(d.GetContent()), "Concentration, mg/m3")
	require.Contains(t, string(d.GetContent()), "detection limit 2.898 mg/m3", "1 ppm at 25 °C and 101.325 kPa, 24.4654 l/mol")
}

func TestPlotTraceRefuses(t *testing.T) {
	t.Parallel()
	negative := full()
	negative.Coverage = new(2.0)
	for _, c := range []struct {
		want  string
		head  *tailboundv1.PlotTraceHeader
		parts []*tailboundv1.ReduceTraceRequest
	}{
		{"header: is missing", nil, nil},
		{"header.channel: is 2", &tailboundv1.PlotTraceHeader{Trace: full(), Channel: 2}, nil},
		{"header.channel: is -1", &tailboundv1.PlotTraceHeader{Trace: full(), Channel: -1}, nil},
		{"header.channel: is 0; the trace has 0 channels", &tailboundv1.PlotTraceHeader{}, nil},
		{"header.format: is 9", &tailboundv1.PlotTraceHeader{Trace: full(), Format: 9}, nil},
		{"header.trace.coverage", &tailboundv1.PlotTraceHeader{Trace: negative}, nil},
		{"values: has no rows", &tailboundv1.PlotTraceHeader{Trace: full()}, nil},
		{"values: is missing", &tailboundv1.PlotTraceHeader{Trace: full()}, []*tailboundv1.ReduceTraceRequest{{}}},
	} {
		_, err := draw(c.head, c.parts...)
		require.ErrorContains(t, err, c.want)
		var f *fault.Error
		require.True(t, errors.As(err, &f) && f.Code == fault.InvalidArgument, c.want)
	}
}
