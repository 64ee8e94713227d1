package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/numeric"
)

// Source: censored_mle.csv, 90 % two-sided profile limits of the 95th percentile and of the exceedance in 50-digit arithmetic,
// confirmed there by a second constrained maximum to 1.1e-13 of the drop.
func TestProfileLimitsTable(t *testing.T) {
	t.Parallel()
	groups := groupSamples(t, "censored_samples.json")
	z95 := numeric.NormalQuantile(0.95)
	worst := 0.0
	for _, row := range reference.Rows(t, "censored_mle.csv") {
		d := newData(groups[row["id"]].readings(t), 1)
		m, err := maximize(d)
		require.NoError(t, err)
		p := profile{&d, &m}
		lower, upper, err := p.percentileLimits(z95, z95)
		require.NoError(t, err, row["id"])
		high, low, err := p.scoreLimits(math.Log(row.Float(t, "limit")), z95)
		require.NoError(t, err, row["id"])
		for column, got := range map[string]float64{
			"p95_lo": math.Exp(lower), "p95_hi": math.Exp(upper), "p95": math.Exp(m.at(z95)),
			"exc_lo": numeric.NormalSurvival(low), "exc_hi": numeric.NormalSurvival(high),
		} {
			e := relativeError(got, row.Float(t, column))
			worst = max(worst, e)
			require.LessOrEqual(t, e, 1e-7, "%s %s", row["id"], column)
		}
	}
	t.Logf("worst relative error of a profile limit: %.2g", worst)
}

// Source: example 15-1 of the USEPA Unified Guidance (2009), 95 % two-sided profile-likelihood interval of the ln mean as
// printed by a general environmental-statistics R library.
func TestManganeseProfile(t *testing.T) {
	t.Parallel()
	d := newData(manganese(), 1)
	m, err := maximize(d)
	require.NoError(t, err)
	lower, upper, err := profile{&d, &m}.percentileLimits(0, numeric.NormalQuantile(0.975))
	require.NoError(t, err)
	require.InDelta(t, 1.595062, lower, 5e-7)
	require.InDelta(t, 2.771197, upper, 5e-7)
}

// r rises with q, falls with z, has the slopes it says, and is 0 at the estimate.
func TestSignedRootIsMonotone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := newData(anyMixture(t), 1)
		m, err := maximize(d)
		if err != nil || m.sigma < 1e-6 {
			return
		}
		p := profile{&d, &m}
		z := rapid.Float64Range(-3, 3).Draw(t, "z")
		require.InDelta(t, 0, p.root(z, m.at(z)).r, 1e-7)
		se := m.seAt(z)
		last := math.Inf(-1)
		for i := -6; i <= 6; i++ {
			q := m.at(z) + 0.7*float64(i)*se
			s := p.root(z, q)
			require.Greater(t, s.r, last-1e-7)
			last = s.r
			if i == 0 {
				continue
			}
			h := 1e-4 * se
			require.InDelta(t, (p.root(z, q+h).r-p.root(z, q-h).r)/(2*h)*se, s.byQ*se, 1e-4)
			h = 1e-4 * se / m.sigma
			require.InDelta(t, (p.root(z+h, q).r-p.root(z-h, q).r)/(2*h)*se/m.sigma, s.byZ*se/m.sigma, 1e-4)
		}
	})
}

// With one-sided readings only the spread may be anything large, and then a percentile has no upper limit while the exceedance
// still has.
func TestProfileOfOneSidedReadings(t *testing.T) {
	t.Parallel()
	d := onScale(nil, []bound{{0, 2}, {3, 2}}, []bound{{1, 2}}, nil)
	m, err := maximize(d)
	require.NoError(t, err)
	p := profile{&d, &m}
	z95 := numeric.NormalQuantile(0.95)
	lower, upper, err := p.percentileLimits(z95, z95)
	require.NoError(t, err)
	require.True(t, math.IsInf(upper, 1))
	require.False(t, math.IsInf(lower, 0))
	require.InDelta(t, -z95, p.root(z95, lower).r, 1e-9)
	low, high, err := p.scoreLimits(2, z95)
	require.NoError(t, err)
	require.InDelta(t, z95, p.root(low, 2).r, 1e-9)
	require.InDelta(t, -z95, p.root(high, 2).r, 1e-9)
	// Far out, r tends to what decides about the limit.
	require.Less(t, p.root(z95, 1e9).r, z95)
	require.True(t, p.unbounded(z95, p.root(z95, 1e9).r+1e-6))
	require.False(t, p.unbounded(z95, p.root(z95, 1e9).r-1e-6))

	// Many readings settle it.
	d = onScale(nil, []bound{{0, 60}, {3, 60}}, []bound{{1, 30}, {-2, 20}}, nil)
	m, err = maximize(d)
	require.NoError(t, err)
	lower, upper, err = profile{&d, &m}.percentileLimits(z95, z95)
	require.NoError(t, err)
	require.Less(t, lower, m.at(z95))
	require.Greater(t, upper, m.at(z95))
	require.False(t, math.IsInf(upper, 1))
}

func BenchmarkSignedRoot(b *testing.B) {
	d := newData(groupSamples(b, "censored_samples.json")["M08"].readings(b), 1)
	m, err := maximize(d)
	require.NoError(b, err)
	p := profile{&d, &m}
	b.ReportAllocs()
	for b.Loop() {
		p.root(1.645, m.at(1.645)+1.6*m.seAt(1.645))
	}
}

func BenchmarkProfileLimits(b *testing.B) {
	d := newData(groupSamples(b, "censored_samples.json")["M08"].readings(b), 1)
	m, err := maximize(d)
	require.NoError(b, err)
	p := profile{&d, &m}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := p.percentileLimits(1.645, 1.645); err != nil {
			b.Fatal(err)
		}
	}
}
