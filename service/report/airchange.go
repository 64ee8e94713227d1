package report

import (
	"fmt"
	"io"
	"time"

	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// AirChange is the answer about the air-change rate of a room.
type AirChange struct {
	Zone string
	// Rate is in air changes per hour.
	Rate limit.Bounds
	// Confidence of each limit, one-sided.
	Confidence float64
	// Values is how many there were, over Duration.
	Values   int
	Duration time.Duration
	// Correlation is that of neighboring residuals.
	Correlation float64
	Notes       []Note
	Methods     []Method
	Caution     string
}

// AirChangeTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func AirChangeTable(w io.Writer, a *AirChange, width int) error {
	p := newPage(width)
	p.airChange(a)
	return p.flush(w)
}

func (p *page) airChange(a *AirChange) {
	title := "Air-change rate from a decay"
	if a.Zone != "" {
		title += ", " + plain(a.Zone)
	}
	p.line(title)
	figured := func(v float64) string { return reading.Figures(v, figures) }
	p.paragraph("", "", fmt.Sprintf("%s over %s.", count(a.Values, "value"), Span(a.Duration)))
	p.heading("Air changes per hour")
	p.line()
	p.grid([]column{
		{head: "rate", right: true},
		{head: "lower " + Level(a.Confidence) + " %", right: true},
		{head: "upper " + Level(a.Confidence) + " %", right: true},
		{head: "correlation of neighbors", right: true},
	}, [][]string{{figured(a.Rate.Estimate), figured(a.Rate.Lower), figured(a.Rate.Upper), fmt.Sprintf("%.2f", a.Correlation)}})
	p.notes(a.Notes)
	p.heading("Sources")
	p.line()
	p.sources(a.Methods)
	p.caution(a.Caution)
}
