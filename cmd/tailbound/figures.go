package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/trace"
)

// figures says which figures are written besides the answers.
type figures struct {
	folder, form string
	format       tailboundv1.ImageFormat
}

func (f *figures) flags(c *cobra.Command) {
	formats := enumNames("IMAGE_FORMAT_", tailboundv1.ImageFormat_value)
	c.Flags().StringVar(&f.folder, "figures", "", "write figures into the folder `DIR` as well, which is made if need be")
	c.Flags().StringVar(&f.form, "figure-format", formats[0], "write them as `"+strings.Join(formats, "|")+"`")
	completeWith(c, "figure-format", formats...)
}

// check refuses what could not be meant, before anything is asked.
func (f *figures) check() error {
	format, err := parseEnum("IMAGE_FORMAT_", f.form, tailboundv1.ImageFormat_value)
	if err != nil {
		return usageError{fmt.Errorf("--figure-format: %w", err)}
	}
	f.format = tailboundv1.ImageFormat(format)
	return nil
}

// begin makes the folder.
func (f *figures) begin() error {
	const mode = 0o755
	if err := os.MkdirAll(f.folder, mode); err != nil {
		return fmt.Errorf("--figures %s: %w", f.folder, err)
	}
	return nil
}

// save writes one figure as NUMBER-NAME-WHAT. One of which there is nothing to draw is left out; drawn says so.
func (f *figures) save(number int, name, what string, d *tailboundv1.Document, err error) (drawn bool, failed error) {
	if client.IsUndetermined(err) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("--figures %s: %w", f.folder, err)
	}
	format := strings.ToLower(f.format.String())
	ending := format[strings.LastIndexByte(format, '_')+1:]
	file := fmt.Sprintf("%03d-%s-%s.%s", number, fileName(name), what, ending)
	return true, replaceFile(filepath.Join(f.folder, file), d.GetContent())
}

// fileName makes of any name one that every file system takes: letters and digits in lower case, and - for all else.
func fileName(name string) string {
	const longest = 60
	var out strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			out.WriteRune(r)
		case out.Len() > 0 && !strings.HasSuffix(out.String(), "-"):
			out.WriteByte('-')
		}
		if out.Len() >= longest {
			break
		}
	}
	if short := strings.Trim(out.String(), "-"); short != "" {
		return short
	}
	return "figure"
}

// tellLeftOut says how many figures there are not.
func (f *figures) tellLeftOut(s streams, n int) {
	if n > 0 {
		s.notef("note: figures of which there is nothing to draw are left out: %d", n)
	}
}

// ofGroups draws every figure of every group that was assessed.
func (f *figures) ofGroups(ctx context.Context, s streams, asked *client.Client, groups []*reading.TabledGroup, ask question) error {
	if f.folder == "" {
		return nil
	}
	if err := f.begin(); err != nil {
		return err
	}
	leftOut := 0
	for i, g := range groups {
		for _, name := range enumNames("GROUP_FIGURE_", tailboundv1.GroupFigure_value) {
			which, err := parseEnum("GROUP_FIGURE_", name, tailboundv1.GroupFigure_value)
			if err != nil {
				return err
			}
			answer, err := asked.PlotGroup(ctx, &tailboundv1.PlotGroupRequest{Group: ask(g), Figure: tailboundv1.GroupFigure(which), Format: f.format})
			if client.IsInvalid(err) {
				break // The group was refused, and that has been told.
			}
			drawn, err := f.save(i+1, title(g), name, answer.GetDocument(), err)
			if err != nil {
				return err
			}
			if !drawn {
				leftOut++
			}
		}
	}
	f.tellLeftOut(s, leftOut)
	return nil
}

// ofCampaigns draws one comparison.
func (f *figures) ofCampaigns(ctx context.Context, asked *client.Client, number int, name string, q *tailboundv1.CompareCampaignsRequest) error {
	if f.folder == "" {
		return nil
	}
	if err := f.begin(); err != nil {
		return err
	}
	answer, err := asked.PlotCampaigns(ctx, &tailboundv1.PlotCampaignsRequest{Comparison: q, Format: f.format})
	_, err = f.save(number, name, "campaigns", answer.GetDocument(), err)
	return err
}

// ofPlan draws a plan.
func (f *figures) ofPlan(ctx context.Context, s streams, asked *client.Client, q *tailboundv1.PlanSamplingRequest) error {
	if f.folder == "" {
		return nil
	}
	if err := f.begin(); err != nil {
		return err
	}
	answer, err := asked.PlotSampling(ctx, &tailboundv1.PlotSamplingRequest{Plan: q, Format: f.format})
	drawn, err := f.save(1, strings.TrimPrefix(q.GetRule().String(), "RULE_"), "sampling", answer.GetDocument(), err)
	if err == nil && !drawn {
		f.tellLeftOut(s, 1)
	}
	return err
}

// drawTrace draws each channel of a file that has been reduced. It reads the file anew for each, and repeats none of its notes.
func (r *reduce) drawTrace(ctx context.Context, asked *client.Client, h *tailboundv1.TraceHeader, o trace.LogOptions, picked []int) error {
	if r.folder == "" {
		return nil
	}
	if err := r.begin(); err != nil {
		return err
	}
	quiet := *r
	quiet.err = io.Discard
	leftOut := 0
	channel := int32(0)
	for i, c := range h.GetChannels() {
		err := withFile(quiet.streams, r.file, func(name string, from io.Reader) error {
			log, err := trace.OpenLog(name, from, o)
			if err != nil {
				return err
			}
			answer, err := asked.PlotTrace(ctx, &tailboundv1.PlotTraceHeader{Trace: h, Channel: channel, Format: r.figures.format}, quiet.parts(log, h, picked))
			drawn, err := r.save(i+1, h.GetZone()+" "+c.GetAgent(), "trace", answer.GetDocument(), err)
			if err == nil && !drawn {
				leftOut++
			}
			return err
		})
		if err != nil {
			return err
		}
		channel++
	}
	r.tellLeftOut(r.streams, leftOut)
	return nil
}

// checkFigures is check for a file that is read more than once.
func (r *reduce) checkFigures() error {
	if r.folder != "" && r.file == standardInput {
		return usageError{errors.New("--figures takes the name of a file, which is read once more for each channel; the standard input cannot be")}
	}
	return r.check()
}
