package planning

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/decision"
)

func ruleNames() map[string]decision.Rule {
	return map[string]decision.Rule{"EN689": decision.EN689, "percentile": decision.UpperLimit95, "mean": decision.MeanUpperLimit}
}

// BenchmarkPlan is a plan of n = 3 to 60: warm as in a service, cold for the first question of a process.
func BenchmarkPlan(b *testing.B) {
	a, err := AssumeRatio(0.6, 2)
	require.NoError(b, err)
	for name, rule := range ruleNames() {
		b.Run(name+"/warm", func(b *testing.B) {
			var p Planner
			for b.Loop() {
				_, err := p.Plan(rule, a, Range{3, 60})
				require.NoError(b, err)
			}
		})
		b.Run(name+"/cold", func(b *testing.B) {
			for b.Loop() {
				var p Planner
				_, err := p.Plan(rule, a, Range{3, 60})
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkProspect looks 1 to 60 samples ahead of 8 readings.
func BenchmarkProspect(b *testing.B) {
	s, err := Observed(8, 0, 0.9, 0.5)
	require.NoError(b, err)
	for name, rule := range ruleNames() {
		b.Run(name, func(b *testing.B) {
			var p Planner
			for b.Loop() {
				_, err := p.Prospect(rule, s, 1.7, 60, Want{Settle, 0.8})
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkHighest is the question of one group.
func BenchmarkHighest(b *testing.B) {
	for b.Loop() {
		_, err := SampleHighest(40, 0.1, 0.9)
		require.NoError(b, err)
	}
}
