package planning

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
)

func rows(chances ...float64) []Row {
	out := make([]Row, len(chances))
	for i, c := range chances {
		out[i] = Row{3 + i, Chances{Compliant: c, Undecided: 1 - c}}
	}
	return out
}

func TestSmallest(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rows []Row
		want Needed
	}{
		{rows(0.1, 0.5, 0.8, 0.9), Needed{5, 5, 0.9, 6}},
		{rows(0.1, 0.85, 0.7, 0.9), Needed{4, 6, 0.9, 6}},
		{rows(0.1, 0.9, 0.7), Needed{4, 0, 0.9, 4}},
		{rows(0.1, 0.5), Needed{0, 0, 0.5, 4}},
		{nil, Needed{}},
	} {
		require.Equal(t, c.want, Smallest(c.rows, Comply, 0.8))
	}
	r := []Row{{3, Chances{0.3, 0.6, 0.1}}}
	require.Equal(t, 3, Smallest(r, Settle, 0.89).Samples)
	require.Equal(t, 0.6, Smallest(r, Refuse, 0.9).Best)
}

// The chance of passing EN 689 rises to the fifth sample, falls to another test at the sixth, and falls again in the long
// run, because one of many results will be above the limit: the smallest number and the lasting one differ.
func TestPlanOfEN689IsNotMonotone(t *testing.T) {
	t.Parallel()
	var p Planner
	a, err := AssumeRatio(0.3, 2.2)
	require.NoError(t, err)
	plan, err := p.Plan(decision.EN689, a, Range{3, 200})
	require.NoError(t, err)
	require.Len(t, plan, 198)
	require.Greater(t, plan[3].Compliant, plan[2].Compliant)
	need := Smallest(plan, Comply, 0.9)
	require.Equal(t, 6, need.Samples)
	require.Zero(t, need.Lasting)
	require.Less(t, plan[197].Compliant, plan[20].Compliant)
	// Every outcome is settled from 6 on.
	require.InDelta(t, 1, plan[3].Settled(), 1e-15)
}

func TestPlanIsTheSameEachTime(t *testing.T) {
	t.Parallel()
	var shared Planner
	a, err := AssumeRatio(0.6, 2)
	require.NoError(t, err)
	for _, rule := range planned() {
		warm, err := shared.Plan(rule, a, Range{1, 40})
		require.NoError(t, err)
		var fresh Planner
		backward := make([]Row, 0, 40)
		for n := 40; n >= 1; n-- {
			c, err := fresh.Chances(rule, a, n)
			require.NoError(t, err)
			backward = append(backward, Row{n, c})
		}
		for i, row := range warm {
			require.Equal(t, row, backward[39-i])
		}
	}
}

func TestCurves(t *testing.T) {
	t.Parallel()
	var p Planner
	g := Grid{
		PercentileToLimit: []float64{0.25, 0.5, 2}, GeometricStandardDeviation: []float64{1.5, 3},
		Samples: Range{3, 60}, Aim: Settle, Wanted: 0.8,
	}
	curves, err := p.Curves(decision.UpperLimit95, &g)
	require.NoError(t, err)
	require.Len(t, curves, 6)
	for _, c := range curves {
		require.Len(t, c.Rows, 58)
	}
	require.Equal(t, 0.5, curves[4].PercentileToLimit)
	require.Equal(t, 3.0, curves[4].GeometricStandardDeviation)
	// A wider spread, or a percentile nearer to the limit, wants more samples.
	require.Less(t, curves[0].Needed.Samples, curves[1].Needed.Samples)
	require.Less(t, curves[0].Needed.Samples, curves[3].Needed.Samples)

	g.Wanted = 1.5
	_, err = p.Curves(decision.EN689, &g)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	g.Wanted, g.PercentileToLimit = 0.8, make([]float64, MaxRows/58)
	_, err = p.Curves(decision.EN689, &g)
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))
	g.PercentileToLimit, g.Samples = []float64{0.5}, Range{5, 2}
	_, err = p.Curves(decision.EN689, &g)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	g.PercentileToLimit, g.Samples = []float64{-1}, Range{3, 60}
	_, err = p.Curves(decision.EN689, &g)
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	for _, r := range []Range{{0, 5}, {5, 4}, {1, MaxSamples + 1}, {MaxSamples + 1, MaxSamples + 1}} {
		_, err = p.Plan(decision.EN689, Assumption{score: 1, sigma: 1}, r)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
}

func ExamplePlanner_Plan() {
	var p Planner
	// A 95th percentile at half of the limit with a geometric standard deviation of 2.
	a, err := AssumeRatio(0.5, 2)
	if err != nil {
		panic(err)
	}
	rows, err := p.Plan(decision.UpperLimit95, a, Range{3, 60})
	if err != nil {
		panic(err)
	}
	need := Smallest(rows, Comply, 0.8)
	fmt.Printf("%d samples: compliant with a chance of %.3f\n", need.Samples, rows[need.Samples-3].Compliant)
	// Output: 23 samples: compliant with a chance of 0.802
}
