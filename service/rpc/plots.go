package rpc

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
	"strings"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

// PlotGroup assesses a group and draws one figure of it.
func (s reportService) PlotGroup(ctx context.Context, r *tailboundv1.PlotGroupRequest) (*tailboundv1.PlotGroupResponse, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := request.CheckGroupFigure(r); err != nil {
		return nil, err
	}
	asked := cmp.Or(r.GetGroup(), new(tailboundv1.AssessGroupRequest))
	if err := request.CheckGroup(asked, s.options.MaxReadings); err != nil {
		return nil, fault.Under("group", err)
	}
	group, options := wire.ToGroup(asked)
	options.Curves = true
	a, err := s.assess(group, options)
	if err != nil {
		return nil, fault.Under("group", err)
	}
	document, err := documentOf(r.GetFormat(), func(w *bytes.Buffer, f figure.Format) error {
		return drawGroup(w, r.GetFigure(), a, group.Readings, f)
	})
	return &tailboundv1.PlotGroupResponse{Document: document}, err
}

// drawGroup draws the figure that was asked for.
func drawGroup(w *bytes.Buffer, which tailboundv1.GroupFigure, a *report.Assessment, readings []reading.Reading, f figure.Format) error {
	switch which {
	case tailboundv1.GroupFigure_GROUP_FIGURE_EXCEEDANCE:
		return figure.Exceedance(w, a, f)
	case tailboundv1.GroupFigure_GROUP_FIGURE_POSTERIOR:
		return figure.Posterior(w, a, f)
	case tailboundv1.GroupFigure_GROUP_FIGURE_TIME:
		return figure.Time(w, a, readings, f)
	default:
		return figure.Probability(w, a, f)
	}
}

// PlotCampaigns compares campaigns and draws them side by side.
func (s reportService) PlotCampaigns(ctx context.Context, r *tailboundv1.PlotCampaignsRequest) (*tailboundv1.PlotCampaignsResponse, error) {
	c, err := prepared(ctx, r.GetFormat(), "comparison", func() (*report.Comparison, error) {
		asked := cmp.Or(r.GetComparison(), new(tailboundv1.CompareCampaignsRequest))
		if err := request.CheckCampaigns(asked, s.options.MaxReadings); err != nil {
			return nil, err
		}
		return s.compare(wire.ToCampaigns(asked))
	})
	if err != nil {
		return nil, err
	}
	document, err := documentOf(r.GetFormat(), func(w *bytes.Buffer, f figure.Format) error { return figure.Campaigns(w, c, f) })
	return &tailboundv1.PlotCampaignsResponse{Document: document}, err
}

// PlotSampling plans and draws the chance of each outcome.
func (s reportService) PlotSampling(ctx context.Context, r *tailboundv1.PlotSamplingRequest) (*tailboundv1.PlotSamplingResponse, error) {
	p, err := prepared(ctx, r.GetFormat(), "plan", func() (*report.Plan, error) {
		asked := cmp.Or(r.GetPlan(), new(tailboundv1.PlanSamplingRequest))
		if err := request.CheckPlan(asked, s.options.MaxReadings); err != nil {
			return nil, err
		}
		return s.plan(wire.ToQuestion(asked))
	})
	if err != nil {
		return nil, err
	}
	document, err := documentOf(r.GetFormat(), func(w *bytes.Buffer, f figure.Format) error { return figure.Sampling(w, p, f) })
	return &tailboundv1.PlotSamplingResponse{Document: document}, err
}

// prepared checks the format and asks for what is to be drawn; a fault about that lies under field.
func prepared[T any](ctx context.Context, format tailboundv1.ImageFormat, field string, ask func() (*T, error)) (*T, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := request.CheckImage(format); err != nil {
		return nil, err
	}
	answer, err := ask()
	return answer, fault.Under(field, err)
}

type plotStream = grpc.ClientStreamingServer[tailboundv1.PlotTraceRequest, tailboundv1.PlotTraceResponse]

// PlotTrace reduces a trace while it comes in and draws one channel of it.
func (s reportService) PlotTrace(stream plotStream) error {
	first, err := stream.Recv()
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	h := first.GetHeader()
	if h == nil {
		return fault.Invalid("header", "is missing; the first message carries it")
	}
	reduction, picture, err := s.beginPicture(h)
	if err != nil {
		return err
	}
	if err := takeAll(reduction, stream.Recv); err != nil {
		return err
	}
	a, err := reduction.Finish()
	if err != nil {
		return underTrace(inRequest(err))
	}
	document, err := documentOf(h.GetFormat(), func(w *bytes.Buffer, f figure.Format) error {
		return figure.Trace(w, picture.figure(a), f)
	})
	if err != nil {
		return err
	}
	return stream.SendAndClose(&tailboundv1.PlotTraceResponse{Document: document})
}

// beginPicture checks the header of a figure and begins the reduction that it shows.
func (s *Server) beginPicture(h *tailboundv1.PlotTraceHeader) (*reduction, *tracePicture, error) {
	if err := request.CheckTraceFigure(h); err != nil {
		return nil, nil, err
	}
	if err := request.CheckTrace(h.GetTrace()); err != nil {
		return nil, nil, underTrace(err)
	}
	o := s.traceOptions(h.GetTrace())
	picture := newTracePicture(&o, int(h.GetChannel()))
	reduction, err := begunWith(o)
	return reduction, picture, underTrace(err)
}

// underTrace puts a fault about the header of a trace under that of the figure, where it stands.
func underTrace(err error) error {
	return fault.Reworded(err, func(v fault.Violation) fault.Violation {
		if rest, in := strings.CutPrefix(v.Field, "header"); in {
			v.Field = "header.trace" + rest
		}
		return v
	})
}
