package document

import (
	"strconv"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// verdict is an outcome in words with its mark, a name that the style and the page agree on.
type verdict struct{ Mark, Text string }

func (w *words) verdict(o decision.Outcome) verdict {
	switch o {
	case decision.Compliant:
		return verdict{"compliant", w.Compliant}
	case decision.NotCompliant:
		return verdict{"not-compliant", w.NotCompliant}
	case decision.Undecided:
		return verdict{"undecided", w.Undecided}
	default:
		return verdict{"none", w.NotJudged}
	}
}

// row is a line of the summary.
type row struct {
	verdict

	Number              int
	Anchor, Name, Agent string
	Readings, Limit     string
	Percentile, AtMost  string
	Exceedance, Reason  string
	// reasonOurs says that the reason is of the fixed words and not of the stages.
	ReasonOurs           bool
	fraction, confidence float64
}

func newRow(w *words, number int, g *Group) row {
	n := strconv.Itoa(number)
	r := row{Number: number, Anchor: "g" + n, Name: plain(g.Request.Name), Agent: plain(g.Request.Agent)}
	if r.Name == "" {
		r.Name = fill(w.GroupNumber, "n", n)
	}
	if g.Assessment == nil {
		r.verdict, r.Reason = verdict{"none", w.Refused}, g.Refusal
		r.Readings = strconv.Itoa(len(g.Request.Readings))
		if g.Request.Limit != nil {
			r.Limit = withUnit(entered(g.Request.Limit.Value), g.Request.Limit.Unit)
		}
	} else {
		r.judged(w, g.Assessment)
	}
	r.Reason, r.Limit, r.Percentile = plain(r.Reason), plain(r.Limit), plain(r.Percentile)
	return r
}

func (r *row) judged(w *words, a *report.Assessment) {
	r.verdict, r.Reason, r.ReasonOurs = verdict{"none", w.NotJudged}, w.NoLimit, true
	if a.Decision != nil {
		r.verdict, r.Reason, r.ReasonOurs = w.verdict(a.Decision.Outcome), a.Decision.Brief(), false
	}
	r.Readings = strconv.Itoa(a.Sample.Readings)
	if a.Sample.Censored() > 0 {
		r.Readings = fill(w.OfValue, "n", r.Readings, "k", strconv.Itoa(a.Sample.Detected))
	}
	if a.Limit != nil {
		r.Limit = withUnit(reading.Stated(a.Limit.Value), a.Unit)
	}
	if p := a.Percentile; p != nil {
		r.fraction, r.confidence = p.Fraction, p.Confidence
		r.Percentile = withUnit(computed(p.Estimate), a.Unit)
		r.AtMost = fill(w.AtMost, "v", computed(p.Upper))
	}
	if e := a.Exceedance; e != nil {
		r.Exceedance = report.Percent(e.Upper)
	}
}
