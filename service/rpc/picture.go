package rpc

import (
	"bytes"
	"math"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure"
	"example.com/tailbound/service/trace"
)

// Media types of figures.
const (
	mediaSVG = "image/svg+xml"
	mediaPNG = "image/png"
)

// imageFormat returns the format of a figure and its media type.
func imageFormat(f tailboundv1.ImageFormat) (figure.Format, string) {
	switch f {
	case tailboundv1.ImageFormat_IMAGE_FORMAT_PNG:
		return figure.PNG, mediaPNG
	case tailboundv1.ImageFormat_IMAGE_FORMAT_NARROW_SVG:
		return figure.NarrowSVG, mediaSVG
	default:
		return figure.SVG, mediaSVG
	}
}

// documentOf is a figure as a document.
func documentOf(f tailboundv1.ImageFormat, draw func(*bytes.Buffer, figure.Format) error) (*tailboundv1.Document, error) {
	format, media := imageFormat(f)
	var out bytes.Buffer
	if err := draw(&out, format); err != nil {
		return nil, err
	}
	// A figure is looked at without the answer that it was drawn from.
	content := bytes.Replace(out.Bytes(), []byte("</desc>"), []byte(" "+report.Caution+"</desc>"), 1)
	return &tailboundv1.Document{MediaType: media, Content: content}, nil
}

// tracePicture gathers what a figure of one channel needs, while the trace comes in.
type tracePicture struct {
	measured assess.TraceChannel
	channel  trace.Channel
	index    int
	zone     string
	strips   trace.Strips
}

// newTracePicture has the options show it the channel that is asked for.
func newTracePicture(o *assess.TraceOptions, index int) *tracePicture {
	p := &tracePicture{measured: o.Measured[index], channel: o.Channels[index], index: index, zone: o.Zone}
	o.Watch = func(s trace.Seen) {
		if s.Channel == index {
			p.strips.Add(s)
		}
	}
	return p
}

// inResult puts a number into the unit of the readings; it is NaN where there is no way, which the reduction has refused before.
func (p *tracePicture) inResult(v float64) float64 {
	to := p.measured.Result
	if to == "" || math.IsInf(v, 0) {
		return v
	}
	converted, err := p.measured.Vapor.Convert(v, p.measured.Unit, to)
	if err != nil {
		return math.NaN()
	}
	return converted
}

// figure is the channel with the averages of a.
func (p *tracePicture) figure(a *report.Trace) *figure.TraceFigure {
	kept := p.strips.Picture()
	f := &figure.TraceFigure{
		Agent: p.measured.Agent, Zone: p.zone, Unit: a.Channels[p.index].Unit, DetectionLimit: p.inResult(p.channel.DetectionLimit),
		FullScale: p.inResult(p.channel.FullScale), From: kept.From, To: kept.To, Columns: make([]figure.TraceColumn, len(kept.Strips)),
		Largest: figure.TraceSpan{Average: math.NaN()},
	}
	for i, c := range kept.Strips {
		f.Columns[i] = figure.TraceColumn{Minimum: p.inResult(c.Lowest), Maximum: p.inResult(c.Highest), Rolling: p.inResult(c.Rolling)}
	}
	for _, g := range kept.Gaps {
		f.Gaps = append(f.Gaps, figure.TraceSpan{From: g[0], To: g[1]})
	}
	for i := range a.Averages {
		if v := &a.Averages[i]; v.Channel == p.index {
			p.add(f, v)
		}
	}
	return f
}

// add adds one average. One without an upper bound stands at its lower one.
func (p *tracePicture) add(f *figure.TraceFigure, v *report.TraceAverage) {
	s := figure.TraceSpan{
		From: v.Start, To: v.Start.Add(v.Length), Average: v.Middle(), Lower: v.Lower, Upper: v.Upper, Usable: v.Usable,
	}
	if math.IsInf(v.Upper, 1) {
		s.Average = v.Lower
	}
	f.Averages = append(f.Averages, s)
	if l := &v.Largest; l.Found && !(l.Lower <= f.Largest.Average) {
		f.Largest = figure.TraceSpan{From: v.LargestStart, To: v.LargestStart.Add(trace.ShortTerm), Average: l.Lower, Lower: l.Lower, Upper: l.Upper}
	}
}
