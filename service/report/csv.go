package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/limit"
)

// CSV writes answers for machines: one row a group under a header that names each column by its path in the contract, in
// snake_case, such as percentile_upper. Numbers have all their digits; what is absent is an empty cell. Rules and outcomes
// are the contract's names without prefix, such as NOT_COMPLIANT; notes are their codes. A refused group has only its name,
// agent and, in error, why. Bands, plots, sources and the other rules' decisions do not fit a row and are left to JSON. The
// error is that of w.
func CSV(w io.Writer, answers []Answer) error {
	out := csv.NewWriter(w)
	cells := csvCells()
	row := make([]string, len(cells))
	for i, c := range cells {
		row[i] = c.name
	}
	if err := out.Write(row); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	for i := range answers {
		for j, c := range cells {
			row[j] = c.text(&answers[i])
		}
		if err := out.Write(row); err != nil {
			return fmt.Errorf("writing CSV: %w", err)
		}
	}
	out.Flush()
	return out.Error()
}

// csvCell is a column of the CSV form.
type csvCell struct {
	name string
	text func(*Answer) string
}

// csvCells lists the columns: who and what outcome first, then by the contract.
func csvCells() []csvCell {
	cells := []csvCell{
		{"name", func(a *Answer) string { return a.Name }},
		{"agent", func(a *Answer) string { return a.Agent }},
		word("decision_outcome", func(a *Assessment) string { return outcomeName(a.decision().Outcome) }),
		word("decision_rule", func(a *Assessment) string { return a.decision().Rule.Name() }),
		word("unit", func(a *Assessment) string { return string(a.Unit) }),
		exact("limit_value", (*Assessment).limit),
		whole("sample_readings", func(a *Assessment) int { return a.Sample.Readings }),
		whole("sample_detected", func(a *Assessment) int { return a.Sample.Detected }),
		whole("sample_below", func(a *Assessment) int { return a.Sample.Below }),
		whole("sample_above", func(a *Assessment) int { return a.Sample.Above }),
		whole("sample_between", func(a *Assessment) int { return a.Sample.Between }),
		exact("sample_minimum", func(a *Assessment) float64 { return a.detected(a.Sample.Minimum) }),
		exact("sample_maximum", func(a *Assessment) float64 { return a.detected(a.Sample.Maximum) }),
	}
	cells = append(cells, bounds("fit_geometric_mean", func(a *Assessment) limit.Bounds { return a.fit().GeometricMean })...)
	cells = append(cells, bounds("fit_geometric_standard_deviation", func(a *Assessment) limit.Bounds { return a.fit().GeometricStandardDeviation })...)
	cells = append(cells, bounds("fit_arithmetic_mean", func(a *Assessment) limit.Bounds { return a.fit().ArithmeticMean })...)
	cells = append(
		cells,
		exact("fit_arithmetic_mean_maximum_likelihood", func(a *Assessment) float64 { return a.fit().ArithmeticMeanML }),
		exact("percentile_fraction", func(a *Assessment) float64 { return a.percentile().Fraction }),
		exact("percentile_confidence", func(a *Assessment) float64 { return a.percentile().Confidence }),
	)
	cells = append(cells, bounds("percentile", func(a *Assessment) limit.Bounds { return a.percentile().Bounds })...)
	cells = append(cells, bounds("exceedance", func(a *Assessment) limit.Bounds { return a.exceedance().Bounds })...)
	return append(
		cells,
		exact("posterior_percentile_above_limit", func(a *Assessment) float64 { return a.posterior().PercentileAboveLimit }),
		word("fit_check_test", func(a *Assessment) string { return a.fitCheck().Test }),
		exact("fit_check_statistic", func(a *Assessment) float64 { return a.fitCheck().Statistic }),
		exact("fit_check_p_value", func(a *Assessment) float64 { return a.fitCheck().PValue }),
		word("decision_reason", func(a *Assessment) string { return a.decision().Reason }),
		exact("limit_reduction_factor", func(a *Assessment) float64 { return a.limitReduction().Factor }),
		word("reassessment_months", reassessmentMonths),
		exact("dependence_correlation", func(a *Assessment) float64 { return a.dependence().Correlation }),
		exact("dependence_effective_readings", func(a *Assessment) float64 { return a.dependence().EffectiveReadings }),
		word("notes", noteCodes),
		csvCell{"error", func(a *Answer) string {
			if a.Assessment == nil {
				return a.Refusal
			}
			return ""
		}},
	)
}

func word(name string, value func(*Assessment) string) csvCell { return csvCell{name, assessed(value)} }

func whole(name string, value func(*Assessment) int) csvCell {
	return word(name, func(a *Assessment) string { return strconv.Itoa(value(a)) })
}

// exact writes a number with all its digits, and nothing for what is absent.
func exact(name string, value func(*Assessment) float64) csvCell {
	return word(name, func(a *Assessment) string {
		v := value(a)
		if math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	})
}

func bounds(name string, value func(*Assessment) limit.Bounds) []csvCell {
	return []csvCell{
		exact(name+"_estimate", func(a *Assessment) float64 { return value(a).Estimate }),
		exact(name+"_lower", func(a *Assessment) float64 { return value(a).Lower }),
		exact(name+"_upper", func(a *Assessment) float64 { return value(a).Upper }),
	}
}

func reassessmentMonths(a *Assessment) string {
	if a.Reassessment == nil {
		return ""
	}
	return strconv.Itoa(a.Reassessment.Months)
}

func noteCodes(a *Assessment) string {
	codes := make([]string, len(a.Notes))
	for i, note := range a.Notes {
		codes[i] = note.Code
	}
	return strings.Join(codes, " ")
}

// outcomeName is the contract's name of an outcome without its prefix; empty when there is none.
func outcomeName(o decision.Outcome) string {
	if o == decision.NoOutcome {
		return ""
	}
	return strings.ToUpper(strings.ReplaceAll(o.String(), " ", "_"))
}
