package comparison

import (
	"fmt"
	"math"
	"strings"

	"example.com/tailbound/service/reading"
)

const figures = 3

// conclusion says what may be concluded of the percentile and what may not.
func conclusion(p *Pair, o Options) string {
	what := "the " + ordinal(o.Percentile) + " percentile"
	at := fmt.Sprintf("At %s %% confidence ", reading.Stated(100*o.Confidence))
	r := p.Percentile
	var out []string
	switch {
	case math.IsNaN(p.Lower):
		return fmt.Sprintf("Nothing can be said of the change of %s from %s to %s: the readings of one of them do not determine it.", what, p.From, p.To)
	case r.Upper < 1:
		out = append(out, fmt.Sprintf("%s%s fell from %s to %s by at least %s; the best estimate is %s.", at, what, p.From, p.To,
			percent(1-r.Upper), change(r.Estimate)))
	case r.Lower > 1:
		out = append(out, fmt.Sprintf("%s%s rose from %s to %s by at least %s; the best estimate is %s.", at, what, p.From, p.To,
			percent(r.Lower-1), change(r.Estimate)))
	default:
		out = append(out, fmt.Sprintf("The readings do not settle whether %s fell or rose from %s to %s: it may have become anything from %s "+
			"to %s times what it was, and no reduction can be claimed at %s %% confidence. That is not evidence that nothing changed.",
			what, p.From, p.To, times(r.Lower), times(r.Upper), reading.Stated(100*o.Confidence)))
	}
	chance := fmt.Sprintf("The chance that it is lower is %s", percent(p.Lower))
	if o.Reduction > 0 {
		chance += fmt.Sprintf(", and that it is lower by at least %s is %s", reading.Stated(100*o.Reduction)+" %", percent(p.LowerByReduction))
	}
	out = append(out, chance+".")
	if !(r.Upper < 1) && !(r.Lower > 1) {
		out = append(out, settling(p))
	}
	if p.Separate.Upper < 1 && !(r.Upper < 1) {
		out = append(out, "The geometric mean did fall, but that does not show that the upper tail came down.")
	}
	if p.Within != nil {
		out = append(out, p.Within.words())
	}
	return strings.Join(out, " ")
}

// words says what happened within the zones.
func (w *Within) words() string {
	words := fmt.Sprintf("Within the %d zones that both visited the geometric mean is %s (%s to %s times what it was)", len(w.Zones),
		change(w.Ratio.Estimate), times(w.Ratio.Lower), times(w.Ratio.Upper))
	var other []string
	for _, z := range w.Zones {
		if z.OtherWay {
			other = append(other, z.Zone)
		}
	}
	if len(other) > 0 {
		words += "; the other way went " + strings.Join(other, ", ")
	}
	return words + "."
}

// settling says what it would take to know more.
func settling(p *Pair) string {
	if p.Further == 0 {
		return fmt.Sprintf("Even %d more readings would hardly settle it if the estimates hold: the campaigns are too much alike, or %s holds "+
			"too little.", mostFurther, p.From)
	}
	return fmt.Sprintf("About %d more readings under the conditions of %s would settle it with a chance of %.0f %% if the estimates hold.",
		p.Further, p.To, 100*settlingChance)
}

// change is a ratio as a reduction or a rise.
func change(ratio float64) string {
	if ratio <= 1 {
		return percent(1-ratio) + " lower"
	}
	return percent(ratio-1) + " higher"
}

// times is a ratio, or what stands for one that no float64 holds.
func times(ratio float64) string {
	if math.IsNaN(ratio) {
		return "no bound"
	}
	return reading.Figures(ratio, figures)
}

// percent writes a fraction; one that rounds to certainty is not certain.
func percent(fraction float64) string {
	const nearly = 0.9995
	switch {
	case fraction > nearly && fraction < 1:
		return "more than 99.9 %"
	case fraction > 0 && fraction < 1-nearly:
		return "less than 0.1 %"
	}
	return reading.Figures(100*fraction, figures) + " %"
}

// ordinal writes 0.95 as 95th.
func ordinal(fraction float64) string {
	s := reading.Stated(100 * fraction)
	if strings.Contains(s, ".") || strings.HasSuffix(s, "11") || strings.HasSuffix(s, "12") || strings.HasSuffix(s, "13") {
		return s + "th"
	}
	switch s[len(s)-1] {
	case '1':
		return s + "st"
	case '2':
		return s + "nd"
	case '3':
		return s + "rd"
	}
	return s + "th"
}

// notes says what the reader must know, in a fixed order.
func notes(r *Result, sides []side) []Note {
	var out []Note
	for i := range sides {
		if s := &sides[i]; s.percentile == nil {
			out = append(out, Note{"campaign-undetermined", fmt.Sprintf("Of campaign %s only part can be compared: %s.", s.Name,
				strings.TrimSuffix(s.why, ".")), true})
		}
	}
	censored, unequal := false, false
	for i := range r.Pairs {
		p := &r.Pairs[i]
		censored = censored || p.Common != nil
		unequal = unequal || p.Common != nil && p.Spreads.PValue < 0.05
	}
	if censored {
		out = append(out, Note{"common-spread", "Where readings are censored, the ratio of the geometric means takes one spread for both " +
			"campaigns and has the limits of a large sample, which in simulation held in 93 to 95 % of pairs of 10 to 20 readings at 95 % " +
			"confidence. The ratio with a spread of its own for each (separateSpreadRatio) does not lean on that.", false})
	}
	if unequal {
		out = append(out, Note{"unequal-spreads", "The spreads of two campaigns differ more than chance would make them: rely on " +
			"the ratio with a spread of its own for each (separateSpreadRatio), not on geometricMeanRatio, whose limits then hold too seldom.", true})
	}
	if len(r.Pairs) > 1 {
		out = append(out, Note{"many-pairs", fmt.Sprintf("%d pairs were compared: adjusted p-values are by Holm's correction for their number; "+
			"the limits are those of each pair alone.", len(r.Pairs)), false})
		if r.Trend == nil {
			out = append(out, Note{"no-trend", "The readings do not determine a trend over the campaigns.", false})
		}
	}
	return out
}
