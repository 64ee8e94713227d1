package report

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// compared has every part of a comparison; the numbers are made up.
func compared() *Comparison {
	b := func(estimate float64) limit.Bounds {
		return limit.Bounds{Estimate: estimate, Lower: estimate / 2, Upper: estimate * 2}
	}
	a := func(name string) *Assessment {
		return &Assessment{
			Name: name, Unit: "mg/m3", Limit: &reading.Limit{Value: 2, Unit: "mg/m3"}, Sample: reading.Counts{Readings: 8, Detected: 7, Below: 1},
			Fit: &Fit{GeometricMean: b(0.3), GeometricStandardDeviation: b(2.2)}, Percentile: &Percentile{0.95, 0.95, b(1.1)},
			Decision: &decision.Decision{Outcome: decision.Compliant},
		}
	}
	none := comparison.Test{Statistic: math.NaN(), PValue: math.NaN()}
	e := limit.Bounds{Estimate: -0.1, Lower: -0.3, Upper: 0.05}
	full := comparison.Pair{
		From: "2024", To: "2025", GeometricMean: b(0.6), LogSpread: b(0.9), Percentile: b(0.45), ArithmeticMean: b(0.5), Exceedance: &e,
		Lower: 0.97, LowerByReduction: 0.61, Claim: 0.1, PAdjusted: 0.03, Separate: b(0.61),
		Means: comparison.Test{Name: "likelihood ratio", Statistic: 5, Freedom: []float64{1}, PValue: 0.015}, Spreads: none, Equal: none,
		Wilcoxon: comparison.Test{Name: "rank test", Statistic: 4, Freedom: []float64{1}, PValue: 0.046}, LogRank: none,
		Common: &comparison.Common{Coefficient: -0.5, StandardError: 0.2, Sigma: 0.8}, Conclusion: "It fell, as made up.", Further: 12,
		Within: &comparison.Within{Ratio: b(0.55), Test: none, Zones: []comparison.ZoneChange{{Zone: "kiln", Ratio: b(0.4)}, {Zone: "yard", Ratio: b(1.3), OtherWay: true}}},
	}
	empty := comparison.Pair{
		From: "2025", To: "2026", GeometricMean: unknown(), LogSpread: unknown(), Percentile: unknown(), ArithmeticMean: unknown(),
		Separate: unknown(), Lower: math.NaN(), LowerByReduction: math.NaN(), Claim: math.NaN(), PAdjusted: math.NaN(), Means: none,
		Spreads: none, Equal: none, Wilcoxon: none, LogRank: none, Conclusion: "Nothing can be said, as made up.",
	}
	return &Comparison{
		Name: "kiln", Agent: "dust", Percentile: 0.95, Confidence: 0.95, Reduction: 0.5, Caution: Caution,
		Campaigns: []*Assessment{a("2024"), a("2025"), {Name: "2026", Sample: reading.Counts{Readings: 1, Detected: 1}}},
		Pairs:     []comparison.Pair{full, empty},
		Trend: &comparison.Trend{Ratio: b(0.7), PerYear: true, Test: comparison.Test{
			Name: "t of the slope", Statistic: -2, Freedom: []float64{12}, PValue: 0.06,
		}},
		Notes:   []Note{{"many-pairs", Careful, "Two pairs were compared."}},
		Methods: []Method{{"percentileRatio", "made up", "Nowhere"}},
	}
}

func TestComparisonGolden(t *testing.T) {
	t.Parallel()
	var page, rows bytes.Buffer
	require.NoError(t, ComparisonTable(&page, compared(), 0))
	golden(t, "comparison.txt", page.Bytes())
	require.NoError(t, ComparisonCSV(&rows, []*Comparison{compared()}))
	golden(t, "comparison.csv", rows.Bytes())
	require.ErrorIs(t, ComparisonTable(broken{}, compared(), 0), errBroken)
	require.ErrorIs(t, ComparisonCSV(broken{}, []*Comparison{compared()}), errBroken)
}
