package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/limit"
)

// ComparisonCSV writes the pairs for machines: one row a pair under a header that names each column by its path in the contract, in
// snake_case. Numbers have all their digits; what is absent is an empty cell. The error is that of w.
func ComparisonCSV(w io.Writer, answers []*Comparison) error {
	out := csv.NewWriter(w)
	if err := out.Write(pairColumns()); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	for _, c := range answers {
		for i := range c.Pairs {
			if err := out.Write(c.pairCells(&c.Pairs[i])); err != nil {
				return fmt.Errorf("writing CSV: %w", err)
			}
		}
	}
	out.Flush()
	return out.Error()
}

// pairBounds are the columns of a pair that have limits.
func pairBounds() []string {
	return []string{
		"geometric_mean_ratio", "separate_spread_ratio", "log_standard_deviation_ratio", "percentile_ratio", "arithmetic_mean_ratio",
		"exceedance_difference", "within_zones_geometric_mean_ratio",
	}
}

func pairColumns() []string {
	out := []string{"name", "agent", "from", "to"}
	for _, name := range pairBounds() {
		out = append(out, name+"_estimate", name+"_lower", name+"_upper")
	}
	return append(out, "probability_lower", "probability_lower_by_reduction", "claimable_reduction", "p_value", "adjusted_p_value",
		"spread_test_p_value", "robust_spread_test_p_value", "rank_test_p_value", "log_rank_test_p_value", "further_readings", "conclusion")
}

func (c *Comparison) pairCells(v *comparison.Pair) []string {
	out := []string{c.Name, c.Agent, v.From, v.To}
	exceedance := unknown()
	if v.Exceedance != nil {
		exceedance = *v.Exceedance
	}
	within := unknown()
	if v.Within != nil {
		within = v.Within.Ratio
	}
	for _, b := range []limit.Bounds{v.GeometricMean, v.Separate, v.LogSpread, v.Percentile, v.ArithmeticMean, exceedance, within} {
		out = append(out, digits(b.Estimate), digits(b.Lower), digits(b.Upper))
	}
	for _, x := range []float64{
		v.Lower, v.LowerByReduction, v.Claim, v.Means.PValue, v.PAdjusted, v.Spreads.PValue, v.Equal.PValue, v.Wilcoxon.PValue, v.LogRank.PValue,
	} {
		out = append(out, digits(x))
	}
	further := ""
	if v.Further > 0 {
		further = strconv.Itoa(v.Further)
	}
	return append(out, further, v.Conclusion)
}

// digits writes a number with all its digits, and nothing for what is absent.
func digits(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
