// Package figure draws an answer: what people look at before they read. The same answer gives the same bytes.
//
// Every figure is told apart by lightness, dash and shape before color, so that it survives a gray print; what is drawn is named
// where it stands rather than in a legend.
package figure

import (
	"io"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Format is a way to write a figure.
type Format uint8

const (
	// SVG is scalable vector graphics.
	SVG Format = iota
	// PNG is portable network graphics, with two pixels for each unit of the SVG.
	PNG
)

// Time draws readings over time by zone, with the limit of a. Readings without a start are drawn in their order. The error is as
// for Probability.
func Time(w io.Writer, a *report.Assessment, readings []reading.Reading, f Format) error {
	return missing("readings")
}

// Campaigns draws campaigns side by side: readings, geometric mean and percentile with their limits. The error is as for
// Probability.
func Campaigns(w io.Writer, c *report.Comparison, f Format) error { return missing("campaigns") }

// Sampling draws the chance of each outcome by number of samples. The error is as for Probability.
func Sampling(w io.Writer, p *report.Plan, f Format) error { return missing("plans") }

// Trace draws one channel of a trace. The error is as for Probability.
func Trace(w io.Writer, t *TraceFigure, f Format) error { return missing("values") }
