package wire

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

func TestGroupBothWays(t *testing.T) {
	t.Parallel()
	full, fullOptions := messages.FullGroup()
	for _, c := range []struct {
		name    string
		group   reading.Group
		options assess.Options
	}{
		{"full", full, fullOptions},
		{"without a limit, by default", reading.Group{Readings: []reading.Reading{reading.At(1)}}, assess.Options{}},
		{"bounded prior", reading.Group{Readings: []reading.Reading{}}, assess.Options{Prior: posterior.Prior{Bounded: &posterior.BoundedPrior{
			GeometricMeanLower: 1, GeometricMeanUpper: 2, GeometricStandardDeviationLower: 3, GeometricStandardDeviationUpper: 4,
		}}}},
		{"informed prior", reading.Group{Readings: []reading.Reading{}}, assess.Options{Prior: posterior.Prior{Informed: &posterior.InformedPrior{
			GeometricMean: 1, GeometricMeanFactor: 2, GeometricStandardDeviation: 3, GeometricStandardDeviationFactor: 4,
		}}}},
		{"carried prior", reading.Group{Readings: []reading.Reading{}}, assess.Options{Prior: posterior.Prior{Carried: &posterior.CarriedPrior{
			Readings: full.Readings, Weight: 0.5,
		}}}},
		{"empty", reading.Group{Readings: []reading.Reading{}}, assess.Options{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			// Through the bytes of the wire, as between two processes.
			data, err := proto.Marshal(FromGroup(c.group, c.options))
			require.NoError(t, err)
			var request tailboundv1.AssessGroupRequest
			require.NoError(t, proto.Unmarshal(data, &request))
			group, options := ToGroup(&request)
			require.Equal(t, c.group, group)
			require.Equal(t, c.options, options)
		})
	}
}

func TestGroupOfNothing(t *testing.T) {
	t.Parallel()
	group, options := ToGroup(nil)
	require.Equal(t, reading.Group{Readings: []reading.Reading{}}, group)
	require.Equal(t, assess.Options{}, options)
	require.Equal(t, reading.Reading{}, ToReading(nil))
	require.Equal(t, reading.Within(0, 0), ToReading(&tailboundv1.Reading{Result: &tailboundv1.Reading_Between{}}))
}

// fullAssessment has every part and every number set.
func fullAssessment() *report.Assessment {
	a := &report.Assessment{
		Name: "welders", Agent: "manganese", Unit: "mg/m3", Caution: report.Caution,
		Limit:  &reading.Limit{Value: 0.2, Unit: "mg/m3"},
		Sample: reading.Counts{Readings: 5, Detected: 2, Below: 1, Above: 1, Between: 1, Minimum: 0.12, Maximum: 0.3},
		Fit: &report.Fit{
			GeometricMean:              limit.Bounds{Estimate: 1, Lower: 2, Upper: 3},
			GeometricStandardDeviation: limit.Bounds{Estimate: 4, Lower: 5, Upper: 6},
			ArithmeticMean:             limit.Bounds{Estimate: 7, Lower: 8, Upper: 9}, ArithmeticMeanML: 10,
		},
		Percentile: &report.Percentile{Fraction: 0.95, Confidence: 0.9, Bounds: limit.Bounds{Estimate: 11, Lower: 12, Upper: 13}},
		Exceedance: &report.Exceedance{Limit: 0.2, Confidence: 0.9, Bounds: limit.Bounds{Estimate: 0, Lower: 0.1, Upper: 0.2}},
		Posterior: &report.Posterior{Prior: "reference", PercentileAboveLimit: 0.3, Bands: []report.Band{
			{Lower: 0, Upper: 0.5, Probability: 0.2}, {Lower: 0.5, Upper: math.Inf(1), Probability: 0.8},
		}, NumericalError: 1e-9, Influence: &report.PriorInfluence{PercentileUpper: 14, PercentileAboveLimit: 0.4, Text: "moved"}},
		DistributionFree: &report.DistributionFree{
			PercentileLower: limit.OrderLimit{Rank: 1, Value: 0.1, Confidence: 0.96, Needed: 2},
			PercentileUpper: limit.OrderLimit{Rank: 5, Value: 0.4, Confidence: 0.97, Needed: 59},
			Exceedance: &limit.CountedExceedance{
				Bounds: limit.Bounds{Estimate: 0.2, Lower: 0.01, Upper: 0.6}, Surely: 1, Possibly: 1, Readings: 5,
			},
		},
		FitCheck: &report.FitCheck{Test: "test", Statistic: 0.9, PValue: 0.4, Plot: []check.PlotPoint{
			{Reading: 0.1, NormalScore: -1}, {Reading: 0.2, NormalScore: 1, Censored: true},
		}},
		Decisions: []decision.Decision{
			{Rule: decision.EN689, Outcome: decision.Undecided, Reason: "because", Source: "there"},
			{Rule: decision.UpperLimit95, Outcome: decision.Compliant, Reason: "so", Source: "elsewhere"},
		},
		LimitReduction: &report.LimitReduction{Stated: 0.3, Factor: 0.7, Reason: "long", Source: "paper"},
		Reassessment:   &decision.Reassessment{Months: 18, Reason: "half", Source: "standard"},
		Dependence:     &check.Dependence{Pairs: 9, Correlation: 0.6, EffectiveReadings: 2.5, Dependent: true},
		Curves: &report.Curves{
			Percentiles: []report.CurvePoint{{Fraction: 0.5, Concentration: 1, Lower: 0.5, Upper: 2}},
			Exceedances: []report.CurvePoint{{Fraction: 0.2, Concentration: 0.2, Lower: 0.1, Upper: 0.4}},
			Density:     []report.DensityPoint{{Concentration: 3, Density: 0.4}},
		},
		Notes:   []report.Note{{Code: "few-readings", Severity: report.Careful, Text: "few"}},
		Methods: []report.Method{{Quantity: "percentile.upper", Method: "how", Source: "where"}},
	}
	a.Decision = &a.Decisions[0]
	return a
}

func TestAssessmentBothWays(t *testing.T) {
	t.Parallel()
	full := fullAssessment()
	require.Equal(t, full, ToAssessment(overTheWire(t, FromAssessment(full))))

	empty := &report.Assessment{}
	require.Equal(t, empty, ToAssessment(overTheWire(t, FromAssessment(empty))))
	require.Equal(t, empty, ToAssessment(nil))
}

func overTheWire(t *testing.T, sent *tailboundv1.AssessGroupResponse) *tailboundv1.AssessGroupResponse {
	t.Helper()
	data, err := proto.Marshal(sent)
	require.NoError(t, err)
	var got tailboundv1.AssessGroupResponse
	require.NoError(t, proto.Unmarshal(data, &got))
	return &got
}

func TestUndeterminedNumbersAreAbsent(t *testing.T) {
	t.Parallel()
	nan, infinite := math.NaN(), math.Inf(1)
	a := fullAssessment()
	a.Fit.ArithmeticMean = limit.Bounds{Estimate: nan, Lower: 8, Upper: infinite}
	a.Fit.ArithmeticMeanML = nan
	a.Percentile.Bounds = limit.Bounds{Estimate: infinite, Lower: nan, Upper: nan}
	a.FitCheck.Statistic, a.FitCheck.PValue = nan, nan
	a.Sample.Detected = 0
	a.Curves.Percentiles[0].Upper, a.Curves.Exceedances[0].Fraction, a.Curves.Density[0].Density = nan, nan, infinite
	r := FromAssessment(a)
	require.Nil(t, r.GetCurves().GetPercentiles()[0].Upper)
	require.Empty(t, r.GetCurves().GetExceedances())
	require.Empty(t, r.GetCurves().GetDensity())
	require.Nil(t, r.GetFit().GetArithmeticMean().Estimate)
	require.Equal(t, 8.0, r.GetFit().GetArithmeticMean().GetLower())
	require.Nil(t, r.GetFit().GetArithmeticMean().Upper)
	require.Nil(t, r.GetFit().ArithmeticMeanMaximumLikelihood)
	require.Nil(t, r.GetPercentile().Estimate)
	require.Nil(t, r.GetFitCheck().Statistic)
	require.Nil(t, r.GetSample().Minimum)
	back := ToAssessment(r)
	require.True(t, math.IsNaN(back.Fit.ArithmeticMean.Upper))
	require.True(t, math.IsNaN(back.Percentile.Estimate))
	require.True(t, math.IsNaN(back.FitCheck.PValue))

	// A part whose plain numbers are not finite is left out whole.
	a = fullAssessment()
	a.Limit.Value, a.Percentile.Confidence, a.Exceedance.Upper, a.Posterior.Bands[1].Probability = infinite, nan, nan, nan
	r = FromAssessment(a)
	require.Nil(t, r.GetLimit())
	require.Nil(t, r.GetPercentile())
	require.Nil(t, r.GetExceedance())
	require.Nil(t, r.GetPosterior())

	// An estimate that a newer server left out is undetermined, not 0.
	require.True(t, math.IsNaN(toFit(&tailboundv1.Fit{}).GeometricMean.Estimate))
}

// TestNoNaNOnTheWire fills every number of the model with anything at all.
func TestNoNaNOnTheWire(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := fullAssessment()
		number := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1)}))
		for _, p := range []*float64{
			&a.Limit.Value, &a.Sample.Minimum, &a.Sample.Maximum, &a.Fit.GeometricMean.Estimate, &a.Fit.GeometricMean.Lower,
			&a.Fit.GeometricStandardDeviation.Upper, &a.Fit.ArithmeticMean.Estimate, &a.Fit.ArithmeticMeanML, &a.Percentile.Fraction,
			&a.Percentile.Confidence, &a.Percentile.Estimate, &a.Percentile.Lower, &a.Percentile.Upper, &a.Exceedance.Limit,
			&a.Exceedance.Confidence, &a.Exceedance.Estimate, &a.Exceedance.Lower, &a.Exceedance.Upper, &a.Posterior.PercentileAboveLimit,
			&a.Posterior.Bands[0].Lower, &a.Posterior.Bands[0].Upper, &a.Posterior.Bands[1].Probability, &a.FitCheck.Statistic,
			&a.Curves.Percentiles[0].Concentration, &a.Curves.Percentiles[0].Upper, &a.Curves.Exceedances[0].Fraction,
			&a.Curves.Density[0].Density, &a.FitCheck.PValue, &a.FitCheck.Plot[0].Reading, &a.FitCheck.Plot[1].NormalScore,
		} {
			*p = number.Draw(t, "number")
		}
		messages.RequireFinite(t, FromAssessment(a))
	})
}

// TestEnumerations walks every value of the contract by its name; the domain's names stand beside them.
func TestEnumerations(t *testing.T) {
	t.Parallel()
	rules := map[string]decision.Rule{
		"UNSPECIFIED": 0, "EN689": decision.EN689, "UPPER_LIMIT_95_95": decision.UpperLimit95, "POSTERIOR": decision.Posterior,
		"MEAN_UPPER_LIMIT": decision.MeanUpperLimit, "SINGLE_SHIFT": decision.SingleShift, "GROUP_AND_SUBJECT": decision.GroupAndSubject,
	}
	require.Len(t, rules, len(tailboundv1.Rule_name))
	for n, name := range tailboundv1.Rule_name {
		want, known := rules[strings.TrimPrefix(name, "RULE_")]
		require.True(t, known, name)
		require.Equal(t, want, ToRule(tailboundv1.Rule(n)), name)
		require.Equal(t, tailboundv1.Rule(n), fromRule(want), name)
		// The table of rules has a row for it, so none has to be refused.
		require.True(t, want == 0 || "RULE_"+want.Name() == name, name)
	}
	outcomes := map[string]decision.Outcome{
		"UNSPECIFIED": decision.NoOutcome, "COMPLIANT": decision.Compliant, "NOT_COMPLIANT": decision.NotCompliant, "UNDECIDED": decision.Undecided,
	}
	require.Len(t, outcomes, len(tailboundv1.Outcome_name))
	for n, name := range tailboundv1.Outcome_name {
		want, known := outcomes[strings.TrimPrefix(name, "OUTCOME_")]
		require.True(t, known, name)
		require.Equal(t, want, toOutcome(tailboundv1.Outcome(n)), name)
		var p tailboundv1.Decision
		fromDecision(&decision.Decision{Outcome: want}, &p)
		require.Equal(t, tailboundv1.Outcome(n), p.GetOutcome(), name)
	}
	severities := map[string]report.Severity{"UNSPECIFIED": 0, "INFORMATION": report.Information, "CAUTION": report.Careful, "WARNING": report.Warning}
	require.Len(t, severities, len(tailboundv1.Severity_name))
	for n, name := range tailboundv1.Severity_name {
		want, known := severities[strings.TrimPrefix(name, "SEVERITY_")]
		require.True(t, known, name)
		require.Equal(t, want, toSeverity(tailboundv1.Severity(n)), name)
		var p tailboundv1.Note
		fromNote(&report.Note{Severity: want}, &p)
		require.Equal(t, tailboundv1.Severity(n), p.GetSeverity(), name)
	}
	// A newer peer may send values that this version does not know.
	require.Equal(t, decision.Rule(0), ToRule(257))
	require.Equal(t, decision.NoOutcome, toOutcome(257))
	require.Equal(t, report.Severity(0), toSeverity(-1))
}
