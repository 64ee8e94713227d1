package assess_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// slowly is a group of 15-minute readings of one shift that rise and fall slowly.
func slowly() reading.Group {
	g := group(50)
	for i := range 24 {
		r := reading.At(10 * math.Exp(math.Sin(float64(i)/3)))
		r.Zone, r.Subject = "press", "P1"
		r.Start = time.Date(2026, 3, 9, 7, 0, 0, 0, time.UTC).Add(time.Duration(i) * 15 * time.Minute)
		r.Duration = 15 * time.Minute
		g.Readings = append(g.Readings, r)
	}
	return g
}

func refusedDependent(t *testing.T, err error, field string) {
	t.Helper()
	require.Equal(t, fault.Undetermined, fault.CodeOf(err), err)
	require.ErrorContains(t, err, field+": follow one another within a shift and depend on each other: over 23 pairs")
	require.ErrorContains(t, err, "acceptDependent")
}

func TestDependentReadingsAreRefused(t *testing.T) {
	t.Parallel()
	g := slowly()
	_, err := assessor.Group(g, assess.Options{})
	refusedDependent(t, err, "readings")
	_, err = assessor.Partition(g, assess.ByZone, assess.Options{})
	refusedDependent(t, err, "readings")
	_, err = assessor.Plan(assess.Question{SoFar: g, Samples: planning.Range{Lower: 1, Upper: 3}, Want: planning.Want{Chance: 0.8}})
	refusedDependent(t, err, "readings")
	early := group(50, chrysene()...)
	early.Name, g.Name = "early", "late"
	_, err = assessor.Compare("press", []reading.Group{early, g}, 0, assess.Options{})
	refusedDependent(t, err, "campaigns[1].readings")
	prior := posterior.Prior{Carried: &posterior.CarriedPrior{Readings: g.Readings, Weight: 0.5}}
	_, err = assessor.Group(early, assess.Options{Prior: prior})
	refusedDependent(t, err, "prior.carried.readings")
}

// Accepted, the answer is that of the same values without a start, with what it is worth beside it.
func TestAcceptedDependentReadings(t *testing.T) {
	t.Parallel()
	g := slowly()
	accepted, err := assessor.Group(g, assess.Options{AcceptDependent: true})
	require.NoError(t, err)
	require.Equal(t, "dependent-readings", accepted.Notes[0].Code)
	require.Equal(t, report.Warning, accepted.Notes[0].Severity)
	require.Equal(t, 23, accepted.Dependence.Pairs)
	require.True(t, accepted.Dependence.Dependent)
	require.Less(t, accepted.Dependence.EffectiveReadings, 6.0)
	require.True(t, slices.ContainsFunc(accepted.Methods, func(m report.Method) bool { return m.Quantity == "dependence" }))

	for i := range g.Readings {
		g.Readings[i].Start = time.Time{}
	}
	apart, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Nil(t, apart.Dependence)
	require.Equal(t, apart.Percentile, accepted.Percentile)
	require.Equal(t, apart.Notes, accepted.Notes[1:])

	c, err := assessor.Compare("press", []reading.Group{named(g, "early"), named(slowly(), "late")}, 0, assess.Options{AcceptDependent: true})
	require.NoError(t, err)
	require.Nil(t, c.Campaigns[0].Dependence)
	require.True(t, c.Campaigns[1].Dependence.Dependent)
	require.Contains(t, c.Notes[0].Text, "late: The readings follow one another")

	p, err := assessor.Plan(assess.Question{
		SoFar: slowly(), AcceptDependent: true, Samples: planning.Range{Lower: 1, Upper: 3}, Want: planning.Want{Chance: 0.8},
	})
	require.NoError(t, err)
	require.Equal(t, "dependent-readings", p.Notes[0].Code)
}

func named(g reading.Group, name string) reading.Group {
	g.Name = name
	return g
}

// What follows one another without a trace of dependence is assessed, with a word of care; so is what cannot be tested.
func TestFollowingReadings(t *testing.T) {
	t.Parallel()
	g := slowly()
	for i := range g.Readings {
		// Steps of the golden ratio, modulo 1, have no slow part.
		v := math.Exp(math.Mod(float64(i)*0.6180339887, 1))
		g.Readings[i].Lower, g.Readings[i].Upper = v, v
	}
	a, err := assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.False(t, a.Dependence.Dependent)
	require.Equal(t, "following-readings", a.Notes[0].Code)
	require.Equal(t, report.Careful, a.Notes[0].Severity)
	require.Contains(t, a.Notes[0].Text, "no dependence is shown")

	for i := range g.Readings {
		if i%2 == 0 {
			g.Readings[i].Kind, g.Readings[i].Lower = reading.Below, 0
		}
	}
	a, err = assessor.Group(g, assess.Options{})
	require.NoError(t, err)
	require.Nil(t, a.Dependence)
	require.Contains(t, a.Notes[0].Text, "cannot be seen")
}
