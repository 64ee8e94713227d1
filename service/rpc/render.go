package rpc

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"sync"
	"sync/atomic"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/report/document"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
)

// RenderReport assesses groups side by side and writes one page about them, in their order. What is wrong with a group stands in
// its part of the page.
func (s reportService) RenderReport(ctx context.Context, r *tailboundv1.RenderReportRequest) (*tailboundv1.RenderReportResponse, error) {
	if err := request.CheckReport(r); err != nil {
		return nil, err
	}
	done, err := s.reports.take(ctx, len(r.GetGroups()) > smallReport)
	if err != nil {
		return nil, err
	}
	defer done()
	sections, err := s.sections(ctx, r)
	if err != nil {
		return nil, err
	}
	head := document.Head{Title: r.GetTitle(), Language: r.GetLanguage(), Version: s.options.Version, Digest: request.Digest(r)}
	var page bytes.Buffer
	if err := document.Write(&page, head, sections); err != nil {
		return nil, err
	}
	return &tailboundv1.RenderReportResponse{
		Document:    &tailboundv1.Document{MediaType: "text/html; charset=utf-8", Content: page.Bytes()},
		InputDigest: head.Digest,
	}, nil
}

// smallReport is how many groups a report may have without waiting for its turn: one of 1000 groups takes 28 MB and every core for
// many seconds. Fifty side by side would take gigabytes, and not one of them would end before its deadline.
const smallReport = 20

// sections writes the parts about the groups.
func (s *Server) sections(ctx context.Context, r *tailboundv1.RenderReportRequest) ([]*document.Section, error) {
	groups := r.GetGroups()
	out, failed := make([]*document.Section, len(groups)), make([]error, len(groups))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), mostWorkers, len(groups)) {
		wait.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(groups) {
					return
				}
				out[i], failed[i] = s.sectionSafely(ctx, r.GetLanguage(), i, groups[i])
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, err := range failed {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// sectionSafely is section for one group of many: a panic costs that group alone.
func (s *Server) sectionSafely(ctx context.Context, language string, i int, r *tailboundv1.AssessGroupRequest) (out *document.Section, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fault.Wrap(fmt.Errorf("panic: %v", p), "writing about a group panicked")
			s.logGroup(ctx, i, err)
			g, _ := wire.ToGroup(r)
			out, err = document.NewSection(language, i+1, &document.Group{Request: g, Refusal: internalText})
		}
	}()
	return s.section(ctx, language, i, r)
}

func (s *Server) section(ctx context.Context, language string, i int, r *tailboundv1.AssessGroupRequest) (*document.Section, error) {
	group, o := wire.ToGroup(r)
	o.Curves = true
	g := &document.Group{Request: group, Judging: document.Judging{
		Percentile: o.WithDefaults().Percentile, RelativeError: o.RelativeError, Calibrated: o.Calibrated,
		AcceptDependent: r.GetAcceptDependent(),
	}}
	err := request.CheckGroup(r, s.options.MaxReadings)
	if err == nil {
		g.Assessment, err = s.assess(group, o)
	}
	if err != nil {
		if fault.CodeOf(err) == fault.Internal {
			s.logGroup(ctx, i, err)
		}
		g.Assessment, g.Refusal = nil, toStatus(err).Message()
	}
	return document.NewSection(language, i+1, g)
}

// logGroup tells the log why one group of many failed.
func (s *Server) logGroup(ctx context.Context, i int, err error) {
	s.log.LogAttrs(ctx, slog.LevelError, "group failed", slog.String("request_id", RequestID(ctx)), slog.Int("index", i), causeAttr(err))
}
