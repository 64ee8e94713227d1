package report

import (
	"fmt"
	"io"
	"strconv"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
)

// Plan is the answer to how many samples would settle a question.
type Plan struct {
	Rule decision.Rule
	// Limit is as stated; its value is 0 when none was needed.
	Limit reading.Limit
	Want  planning.Want
	// Rows and Needed are for an assumed exposure; Rows is empty when none was assumed.
	Rows   []planning.Row
	Needed planning.Needed
	// Curves are for a grid of assumed exposures.
	Curves []planning.Curve
	// Prospect is nil without readings so far.
	Prospect *planning.Prospect
	// Highest is nil when that was not asked.
	Highest      *planning.Highest
	HighestAsked HighestAsked
	Notes        []Note
	Methods      []Method
	Caution      string
}

// HighestAsked is the question that Highest answers.
type HighestAsked struct {
	GroupSize            int
	Fraction, Confidence float64
}

// PlanTable writes the answer for people, in lines of about width characters (0 means DefaultWidth). The error is that of w.
func PlanTable(w io.Writer, a *Plan, width int) error {
	p := newPage(width)
	p.assumed(a)
	p.curves(a)
	p.prospect(a)
	p.highest(a)
	p.notes(a.Notes)
	p.heading("Sources")
	p.line()
	p.sources(a.Methods)
	p.caution(a.Caution)
	return p.flush(w)
}

// assumed writes the plan for an assumed exposure.
func (p *page) assumed(a *Plan) {
	if len(a.Rows) == 0 {
		return
	}
	p.paragraph("", "", neededWords(a))
	p.line()
	p.paragraph("", "", "Chance of each outcome by "+a.Rule.Title()+", limit "+withUnit(reading.Stated(a.Limit.Value), a.Limit.Unit)+
		", if the exposure is as assumed")
	p.line()
	p.chances("samples", a.Rows)
}

// curves writes how many samples each pair of the grid needs.
func (p *page) curves(a *Plan) {
	if len(a.Curves) == 0 {
		return
	}
	if len(a.Rows) > 0 {
		p.line()
	}
	p.paragraph("", "", fmt.Sprintf("Samples for a chance of at least %s of %s by %s; in brackets the best chance where none reaches it",
		reading.Stated(a.Want.Chance), a.Want.Aim, a.Rule.Title()))
	p.line()
	columns := []column{{head: "GSD", right: true}, {head: "95th percentile of the limit", right: true}, {head: "samples", right: true}}
	rows := make([][]string, len(a.Curves))
	for i, c := range a.Curves {
		needed := strconv.Itoa(c.Needed.Samples)
		if c.Needed.Samples == 0 {
			needed = "(" + Percent(c.Needed.Best) + ")"
		}
		rows[i] = []string{reading.Stated(c.GeometricStandardDeviation), Percent(c.PercentileToLimit), needed}
	}
	p.grid(columns, rows)
}

// neededWords says how many samples are needed.
func neededWords(a *Plan) string {
	n, last := a.Needed, a.Rows[len(a.Rows)-1].Samples
	aim := fmt.Sprintf("a chance of at least %s of %s", reading.Stated(a.Want.Chance), a.Want.Aim)
	switch {
	case n.Samples == 0:
		return fmt.Sprintf("No number up to %d has %s; the best is %s with %d.", last, aim, Percent(n.Best), n.BestSamples)
	case n.Lasting == n.Samples:
		return fmt.Sprintf("%s have %s.", count(n.Samples, "sample"), aim)
	case n.Lasting == 0:
		return fmt.Sprintf("%s have %s, but it is lost again with more.", count(n.Samples, "sample"), aim)
	default:
		return fmt.Sprintf("%s have %s; it falls below that again and holds from %d on.", count(n.Samples, "sample"), aim, n.Lasting)
	}
}

// prospect writes what further samples promise.
func (p *page) prospect(a *Plan) {
	if a.Prospect == nil {
		return
	}
	if len(a.Rows)+len(a.Curves) > 0 {
		p.line()
	}
	p.paragraph("", "", a.Prospect.Text)
	if a.Prospect.Approximate {
		p.paragraph("", "", "The readings without a value were replaced by readings with a value that say as much of the exposure.")
	}
	p.line()
	p.paragraph("", "", "Chance of each outcome by "+a.Rule.Title()+" after further samples, going by the readings so far")
	p.line()
	p.chances("further", a.Prospect.Rows)
}

func (p *page) highest(a *Plan) {
	if a.Highest == nil {
		return
	}
	if len(a.Rows)+len(a.Curves) > 0 || a.Prospect != nil {
		p.line()
	}
	group := "a large group"
	if a.HighestAsked.GroupSize > 0 {
		group = "the " + strconv.Itoa(a.HighestAsked.GroupSize) + " people of the group"
	}
	p.paragraph("", "", fmt.Sprintf("Sample %d of %s, drawn at random: the chance that one of the highest exposed %s is among them is then %s.",
		a.Highest.Samples, group, Percent(a.HighestAsked.Fraction), Percent(a.Highest.Chance)))
}

// chances writes rows of chances, thinned out where they are many.
func (p *page) chances(head string, rows []planning.Row) {
	columns := []column{
		{head: head, right: true}, {head: "compliant", right: true}, {head: "not compliant", right: true}, {head: "undecided", right: true},
	}
	var cells [][]string
	for i, r := range rows {
		if !worthShowing(r.Samples) && i != len(rows)-1 {
			continue
		}
		cells = append(cells, []string{strconv.Itoa(r.Samples), Percent(r.Compliant), Percent(r.NotCompliant), Percent(r.Undecided)})
	}
	p.grid(columns, cells)
}

// worthShowing keeps every number up to 12, then fives to 60, then twenties.
func worthShowing(n int) bool {
	switch {
	case n <= 12:
		return true
	case n <= 60:
		return n%5 == 0
	default:
		return n%20 == 0
	}
}
