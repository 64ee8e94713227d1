package rpc

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/rpc/wire"
)

func planOf(t *testing.T, r *tailboundv1.PlanSamplingRequest) (*tailboundv1.PlanSamplingResponse, error) {
	t.Helper()
	return planningService{Server: New(Options{})}.PlanSampling(context.Background(), r)
}

// Source: power.csv, 55-digit arithmetic: the chance that the upper 95 % limit of the 95th percentile is below the limit, with
// the 95th percentile at the stated ratio of the limit.
func TestPlanSamplingGivesThePowerTable(t *testing.T) {
	t.Parallel()
	checked := 0
	for _, row := range reference.Rows(t, "power.csv") {
		if row["conf"] != "0.95" || row["gsd"] != "2" {
			continue
		}
		n := int32(row.Int(t, "n"))
		ratio := row.Float(t, "ratio")
		r := &tailboundv1.PlanSamplingRequest{
			Rule: tailboundv1.Rule_RULE_UPPER_LIMIT_95_95, Limit: &tailboundv1.Limit{Value: 1},
			GeometricMean: new(ratio / math.Pow(2, numeric.NormalQuantile(0.95))), GeometricStandardDeviation: new(2.0), SamplesLower: &n, SamplesUpper: &n,
		}
		a, err := planOf(t, r)
		require.NoError(t, err)
		require.Len(t, a.GetPlans(), 1)
		require.InDelta(t, row.Float(t, "power"), a.GetPlans()[0].GetCompliant(), 1e-12, "%v", row)
		checked++
	}
	require.GreaterOrEqual(t, checked, 10)
}

func TestPlanSamplingAnswersEveryPart(t *testing.T) {
	t.Parallel()
	r := &tailboundv1.PlanSamplingRequest{
		Limit: &tailboundv1.Limit{Value: 0.5, Unit: "mg/m3"}, Unit: "mg/m3", GeometricMean: new(0.1), GeometricStandardDeviation: new(2.2),
		Readings: []*tailboundv1.Reading{messages.Value(0.1), messages.Value(0.2), messages.Value(0.15), {Result: &tailboundv1.Reading_Below{Below: 0.08}}},
		Highest:  &tailboundv1.HighestExposed{GroupSize: 24}, SamplesUpper: new(int32(12)),
		Grid: &tailboundv1.PlanGrid{PercentileToLimit: []float64{0.5, 2}, GeometricStandardDeviation: []float64{2}},
	}
	a, err := planOf(t, r)
	require.NoError(t, err)
	require.Len(t, a.GetPlans(), 10)
	require.Equal(t, int32(6), a.GetSamplesNeeded())
	require.Len(t, a.GetProspect().GetPlans(), 12)
	require.True(t, a.GetProspect().GetApproximate())
	// NIOSH 77-173 (from memory) prints 14 of 24 for the top 10 % at 90 %, with 2.4 people in the fraction and rounded; with 2
	// whole people the exact number is 17.
	require.Equal(t, int32(17), a.GetHighest().GetSamples())
	require.Len(t, a.GetCurves(), 2)
	require.Len(t, a.GetMethods(), 3)
	messages.RequireFinite(t, a)
	back := wire.FromPlan(wire.ToPlan(r, a))
	require.True(t, proto.Equal(a, back), "%v\n%v", a, back)
}

func TestPlanSamplingIsChecked(t *testing.T) {
	t.Parallel()
	type request = tailboundv1.PlanSamplingRequest
	limit := &tailboundv1.Limit{Value: 1, Unit: "ppm"}
	for says, r := range map[string]*request{
		"asks nothing":                           {},
		"geometricStandardDeviation: is missing": {Limit: limit, GeometricMean: new(1.0)},
		"geometricMean: is missing":              {Limit: limit, GeometricStandardDeviation: new(2.0)},
		"limit: is missing":                      {GeometricMean: new(1.0), GeometricStandardDeviation: new(2.0)},
		"geometricMean: got 0":                   {Limit: limit, GeometricMean: new(0.0), GeometricStandardDeviation: new(2.0)},
		"geometricStandardDeviation: got 1":      {Limit: limit, GeometricMean: new(1.0), GeometricStandardDeviation: new(1.0)},
		"samplesLower: got 0":                    {Limit: limit, GeometricMean: new(1.0), GeometricStandardDeviation: new(2.0), SamplesLower: new(int32(0))},
		"rule: is RULE_SINGLE_SHIFT":             {Limit: limit, Rule: tailboundv1.Rule_RULE_SINGLE_SHIFT, Highest: &tailboundv1.HighestExposed{}},
		"power: is 2":                            {Power: new(2.0), Highest: &tailboundv1.HighestExposed{}},
		"grid: is empty":                         {Grid: &tailboundv1.PlanGrid{PercentileToLimit: []float64{1}}},
		"aim: is 9":                              {Aim: 9, Highest: &tailboundv1.HighestExposed{}},
		"highest.groupSize: got -1":              {Highest: &tailboundv1.HighestExposed{GroupSize: -1}},
		"readings[0].value: is -1":               {Limit: limit, Readings: []*tailboundv1.Reading{messages.Value(-1)}},
		"limit.unit":                             {Limit: limit, Unit: "mg/m3", Readings: []*tailboundv1.Reading{messages.Value(1), messages.Value(2)}},
	} {
		t.Run(says, func(t *testing.T) {
			t.Parallel()
			_, err := planOf(t, r)
			require.Equal(t, fault.InvalidArgument, fault.CodeOf(err), err)
			require.ErrorContains(t, err, says)
		})
	}
	_, err := planOf(t, &request{Limit: limit, Readings: []*tailboundv1.Reading{messages.Value(1)}, Unit: "ppm"})
	require.Equal(t, fault.Undetermined, fault.CodeOf(err), err)
}
