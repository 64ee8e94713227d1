package request

import (
	"strconv"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
)

// CheckImage checks the format of a figure. The error is a fault.
func CheckImage(format tailboundv1.ImageFormat) error {
	var v violations
	v.image(format)
	return v.fault()
}

// CheckGroupFigure checks what is not about the group that is drawn. The error is a fault.
func CheckGroupFigure(r *tailboundv1.PlotGroupRequest) error {
	var v violations
	v.image(r.GetFormat())
	v.enumerated("figure", int32(r.GetFigure()), tailboundv1.GroupFigure_name, "figure")
	return v.fault()
}

// CheckTraceFigure checks what is not about the trace that is drawn. The error is a fault.
func CheckTraceFigure(h *tailboundv1.PlotTraceHeader) error {
	var v violations
	v.image(h.GetFormat())
	if n := len(h.GetTrace().GetChannels()); h.GetChannel() < 0 || int(h.GetChannel()) >= n {
		v.add("channel", "is "+strconv.Itoa(int(h.GetChannel()))+"; the trace has "+strconv.Itoa(n)+" channels, counted from 0")
	}
	return fault.Under("header", v.fault())
}

func (v *violations) image(f tailboundv1.ImageFormat) {
	v.enumerated("format", int32(f), tailboundv1.ImageFormat_name, "format")
}
