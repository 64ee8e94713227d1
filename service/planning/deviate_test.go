package planning

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
)

// The 5 % critical values of the largest studentized deviate, one-sided (Grubbs and Beck 1972, Technometrics 14, 847, as in
// ASTM E178; from memory). The old table is off by up to a unit of its last decimal: 1.672 for 1.6714, 2.371 for 2.3717.
func TestLargestDeviateAgainstPublishedTable(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, c := range []struct {
		n        int
		critical float64
	}{
		{3, 1.153},
		{4, 1.463},
		{5, 1.672},
		{6, 1.822},
		{7, 1.938},
		{8, 2.032},
		{9, 2.110},
		{10, 2.176},
		{11, 2.234},
		{12, 2.285},
		{13, 2.331},
		{14, 2.371},
		{15, 2.409},
		{20, 2.557},
		{25, 2.663},
		{30, 2.745},
		{40, 2.866},
		{50, 2.956},
		{60, 3.025},
		{100, 3.207},
	} {
		law := p.law(c.n)
		got, err := numeric.Root(func(u float64) (value, slope float64) {
			return law.atCosine(u/law.largest()) - 0.95, 0
		}, 1.1, law.largest())
		require.NoError(t, err)
		require.InDelta(t, c.critical, got, 0.001, "n = %d", c.n)
	}
}

// Three observations have their largest deviate uniform in angle, P = 1 - 3 theta/pi, and where two cannot reach u together
// P = 1 - n P(one deviate > u), a Student t probability: sqrt(n-2) r/sqrt(1-r²) is t with n-2 degrees of freedom, r the
// deviate over the largest one (Thompson 1935, Annals of Mathematical Statistics 6, 214, from memory).
func TestLargestDeviateInClosedForm(t *testing.T) {
	t.Parallel()
	var p Planner
	for _, theta := range []float64{0.01, 0.3, 0.7, 1} {
		require.InDelta(t, 1-3*theta/math.Pi, p.law(3).at(theta), 1e-14)
	}
	for _, n := range []int{4, 6, 9, 13, 17, 40, 101, 400} {
		law, m := p.law(n), float64(n)
		edge := math.Sqrt((m - 2) / (2 * (m - 1)))
		for _, part := range []float64{0.001, 0.2, 0.6, 0.99} {
			r := edge + (1-edge)*part
			one := numeric.StudentTSurvival(m-2, math.Sqrt(m-2)*r/math.Sqrt(1-r*r))
			require.InDelta(t, 1-m*one, law.atCosine(r), 1e-12, "n %d r %v", n, r)
		}
	}
}

// The recursion loses little on its way down: the smallest possible deviate, 1/sqrt(n), has probability 0. Rounding errors
// grow as P falls, to 2e-11 for 47 observations.
func TestLargestDeviateReachesZero(t *testing.T) {
	t.Parallel()
	var p Planner
	for n := 3; n <= 60; n++ {
		law := p.law(n)
		require.InDelta(t, 0, law.panels[len(law.panels)-1].at(1), 1e-10, "n = %d", n)
		last := 1.0
		for i := range 400 {
			v := law.at(float64(i) / 250)
			require.LessOrEqual(t, v, last+1e-10)
			last = v
		}
	}
}
