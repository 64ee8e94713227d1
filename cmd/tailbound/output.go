package main

import (
	"fmt"
	"io"
	"strings"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rpc/wire"
)

// output takes answers in the order of the groups.
type output interface {
	answered(r *tailboundv1.AssessGroupResponse) error
	refused(g *reading.TabledGroup, why string) error
	end() error
}

func formats() []string { return []string{"table", "json", "csv"} }

// newOutput returns the output of a format.
func newOutput(format string, w io.Writer) (output, error) {
	switch strings.ToLower(format) {
	case "table":
		return &pageOutput{write: func(answers []report.Answer) error { return report.Table(w, answers, widthOf(w)) }}, nil
	case "csv":
		return &pageOutput{write: func(answers []report.Answer) error { return report.CSV(w, answers) }}, nil
	case "json":
		return jsonOutput{w}, nil
	default:
		return nil, fmt.Errorf("--format %s: accepted are %s", format, strings.Join(formats(), ", "))
	}
}

// jsonOutput prints each answer as it comes. A refused group has no answer to print: it is told with the errors.
type jsonOutput struct{ w io.Writer }

func (o jsonOutput) answered(r *tailboundv1.AssessGroupResponse) error { return printJSON(o.w, r) }
func (o jsonOutput) refused(*reading.TabledGroup, string) error        { return nil }
func (o jsonOutput) end() error                                        { return nil }

// pageOutput keeps the answers until all are there: the widths of a table hang on every row.
type pageOutput struct {
	answers []report.Answer
	write   func([]report.Answer) error
}

func (o *pageOutput) answered(r *tailboundv1.AssessGroupResponse) error {
	o.answers = append(o.answers, report.Answer{Name: r.GetName(), Agent: r.GetAgent(), Assessment: wire.ToAssessment(r)})
	return nil
}

func (o *pageOutput) refused(g *reading.TabledGroup, why string) error {
	o.answers = append(o.answers, report.Answer{Name: g.Name, Agent: g.Agent, Refusal: why})
	return nil
}

func (o *pageOutput) end() error { return o.write(o.answers) }
