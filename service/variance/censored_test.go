package variance

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/reading"
)

// TestCensoredLikelihood compares values at stated points and the maximum. Source: variance_censored.csv (mpmath, computed for this
// project).
func TestCensoredLikelihood(t *testing.T) {
	t.Parallel()
	groups := censoredGroups(t)
	for _, row := range reference.Rows(t, "variance_censored.csv") {
		want := place{row.Float(t, "mu"), row.Float(t, "sigma_b"), row.Float(t, "sigma_w")}
		if row["kind"] == "point" {
			zones, err := gather(groups[row["group"]], zoneOf, "zone")
			require.NoError(t, err)
			// The trapezoid rule leaves 1e-11 for each zone.
			require.InDelta(t, row.Float(t, "loglik"), newMarginal(zones).at(want).value, 3e-10, "%v", row)
			continue
		}
		e := partition(t, groups[row["group"]], Options{}).Likelihood
		// The table has about 10 digits of the estimates, 6 of the standard errors.
		require.LessOrEqual(t, relative(e.Mu, want.mu), 3e-9)
		require.LessOrEqual(t, relative(e.Between, want.between), 3e-9)
		require.LessOrEqual(t, relative(e.Within, want.within), 3e-9)
		require.InDelta(t, row.Float(t, "loglik"), e.LogLikelihood, 3e-10)
		require.LessOrEqual(t, relative(e.LogBetweenSE, row.Float(t, "se_ln_sigma_b")), 1e-6)
		require.LessOrEqual(t, relative(e.LogWithinSE, row.Float(t, "se_ln_sigma_w")), 1e-6)
	}
}

// TestCensoredPathOnUncensored drives the numerical path with readings that all have a value: it must meet the closed forms.
func TestCensoredPathOnUncensored(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for id, readings := range campaigns(t) {
		zones, err := gather(readings, zoneOf, "zone")
		require.NoError(t, err)
		exact, err := fitZones(zones)
		require.NoError(t, err)
		c := newMarginal(zones)
		f, err := c.fit(rough(zones))
		require.NoError(t, err, id)
		for _, pair := range [][2]Estimates{{f.likelihood, exact.likelihood}, {f.restricted, exact.restricted}} {
			got, want := pair[0], pair[1]
			for _, miss := range []float64{
				math.Abs(got.Mu - want.Mu), relative(got.MuSE, want.MuSE), relative(got.Between, want.Between), relative(got.Within, want.Within),
				math.Abs(got.LogLikelihood - want.LogLikelihood),
			} {
				require.LessOrEqual(t, miss, 1e-8, id)
				worst = max(worst, miss)
			}
			if want.Between > 0 {
				require.LessOrEqual(t, relative(got.LogBetweenSE, want.LogBetweenSE), 1e-8, id)
				require.LessOrEqual(t, relative(got.LogWithinSE, want.LogWithinSE), 1e-8, id)
			}
		}
		l, own := f.effective(c)
		require.InDelta(t, exact.layout.between, l.between, 1e-8, id)
		for i := range own {
			require.InDelta(t, exact.own[i].n, own[i].n, 1e-7, id)
			require.InDelta(t, exact.own[i].mean+exact.layout.origin, own[i].mean+l.origin, 1e-8, id)
		}
		// The degrees of freedom within come from the observed curvature, which is that of the layout when it is balanced.
		if len(exact.layout.classes) == 1 {
			require.InDelta(t, exact.layout.within, l.within, 1e-6, id)
			require.LessOrEqual(t, relative(l.squares, exact.layout.squares), 1e-7, id)
		} else {
			require.LessOrEqual(t, relative(l.within, exact.layout.within), 0.03, id)
		}
	}
	t.Logf("worst miss %.2g", worst)
}

// TestNarrowBands: a band around each value, ever narrower, goes to the answer without bands.
func TestNarrowBands(t *testing.T) {
	t.Parallel()
	want := partition(t, iron(), Options{})
	last := math.Inf(1)
	for _, width := range []float64{0.1, 0.01, 0.001} {
		bands := iron()
		for i := range bands {
			v := bands[i].Lower
			zone := bands[i].Zone
			bands[i] = reading.Within(v*math.Exp(-width), v*math.Exp(width))
			bands[i].Zone = zone
		}
		got := partition(t, bands, Options{})
		miss := relative(got.Restricted.Between, want.Restricted.Between) + relative(got.Restricted.Within, want.Restricted.Within) +
			relative(got.Likelihood.Between, want.Likelihood.Between)
		require.Less(t, miss, 0.02*last+1e-7, "the miss falls with the square of the width")
		last = miss
	}
	require.Less(t, last, 1e-5)
}

// TestFarLimit: one reading moved under a reporting limit just above it changes the answer little, and never jumps from REML to ML.
func TestFarLimit(t *testing.T) {
	t.Parallel()
	readings := campaigns(t)["V11"]
	want := partition(t, readings, Options{})
	smallest := 0
	for i := range readings {
		if readings[i].Lower < readings[smallest].Lower {
			smallest = i
		}
	}
	zone := readings[smallest].Zone
	readings[smallest] = reading.Within(0.98*readings[smallest].Lower, 1.02*readings[smallest].Lower)
	readings[smallest].Zone = zone
	got := partition(t, readings, Options{})
	require.LessOrEqual(t, relative(got.Between.Estimate, want.Between.Estimate), 1e-4)
	require.LessOrEqual(t, relative(got.Within.Estimate, want.Within.Estimate), 1e-4)
	require.LessOrEqual(t, relative(got.Between.Upper, want.Between.Upper), 0.01)
	require.LessOrEqual(t, relative(got.Within.Upper, want.Within.Upper), 0.01)
	require.Nil(t, got.Anova)
	require.False(t, got.Test.Exact)
}

// TestDerivatives compares the derivatives of a zone's likelihood with differences of its values.
func TestDerivatives(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(4, 1))
	bound := func(v float64) reading.Reading { return reading.Under(math.Exp(v)) }
	for _, r := range []reading.Reading{
		bound(0.3), bound(-40), bound(30), reading.Over(1.5), reading.Over(1e-9), reading.Over(1e9),
		reading.Within(1, 1.001), reading.Within(1, 8), reading.Within(1e6, 1e8), reading.Within(1e-8, 1e-6), reading.Within(1e-30, 1e30), reading.At(2),
	} {
		r.Zone = "a"
		zones, err := gather([]reading.Reading{r, r}, zoneOf, "zone")
		require.NoError(t, err)
		for range 5 {
			m, s := rng.NormFloat64(), 0.4*rng.NormFloat64()
			const h = 1e-4
			at := func(i, j float64) slopes { return zones[0].at(m+i*h, math.Exp(s+j*h)) }
			got := at(0, 0)
			check := func(name string, want, got float64) {
				require.InDelta(t, want, got, 1e-6*(1+math.Abs(want)), "%s of %v at %v %v", name, r, m, s)
			}
			check("m", (at(1, 0).value-at(-1, 0).value)/(2*h), got.m)
			check("s", (at(0, 1).value-at(0, -1).value)/(2*h), got.s)
			check("mm", (at(1, 0).m-at(-1, 0).m)/(2*h), got.mm)
			check("ms", (at(0, 1).m-at(0, -1).m)/(2*h), got.ms)
			check("ss", (at(0, 1).s-at(0, -1).s)/(2*h), got.ss)
		}
	}
}
