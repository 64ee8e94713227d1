package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/numeric"
)

// percentileLimits returns the q on either side of the estimate of mu + z sigma where |r| = root, such as 1.6449 for 90 %
// two-sided; -Inf or +Inf where the likelihood never falls that far.
func (p Profile) percentileLimits(z, root float64) (lower, upper float64, err error) {
	if lower, err = p.PercentileLimit(z, -root); err != nil {
		return 0, 0, err
	}
	upper, err = p.PercentileLimit(z, root)
	return lower, upper, err
}

// scoreLimits returns the z with r(z, q) = root and with r(z, q) = -root: the exceedance 1 - Phi(z) of a limit e^q has its
// lower limit at the second and its upper limit at the first. Both are always finite.
func (p Profile) scoreLimits(q, root float64) (lower, upper float64, err error) {
	if lower, err = p.ScoreLimit(q, root); err != nil {
		return 0, 0, err
	}
	upper, err = p.ScoreLimit(q, -root)
	return lower, upper, err
}

// Source: censored_mle.csv, 90 % two-sided profile limits of the 95th percentile and of the exceedance in 50-digit arithmetic,
// confirmed there by a second constrained maximum to 1.1e-13 of the drop.
func TestProfileLimitsTable(t *testing.T) {
	t.Parallel()
	groups := samples.Groups(t, "censored_samples.json")
	z95 := numeric.NormalQuantile(0.95)
	worst := 0.0
	for _, row := range reference.Rows(t, "censored_mle.csv") {
		d := NewData(groups[row["id"]].Readings(t), 1)
		m, err := Maximize(d)
		require.NoError(t, err)
		p := Profile{&d, &m}
		lower, upper, err := p.percentileLimits(z95, z95)
		require.NoError(t, err, row["id"])
		high, low, err := p.scoreLimits(math.Log(row.Float(t, "limit")), z95)
		require.NoError(t, err, row["id"])
		for column, got := range map[string]float64{
			"p95_lo": math.Exp(lower), "p95_hi": math.Exp(upper), "p95": math.Exp(m.At(z95)),
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
	d := NewData(samples.Manganese(), 1)
	m, err := Maximize(d)
	require.NoError(t, err)
	lower, upper, err := Profile{&d, &m}.percentileLimits(0, numeric.NormalQuantile(0.975))
	require.NoError(t, err)
	require.InDelta(t, 1.595062, lower, 5e-7)
	require.InDelta(t, 2.771197, upper, 5e-7)
}

// r rises with q, falls with z, has the slopes it says, and is 0 at the estimate.
func TestSignedRootIsMonotone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := NewData(samples.AnyMixture(t), 1)
		m, err := Maximize(d)
		if err != nil || m.Sigma < 1e-6 {
			return
		}
		p := Profile{&d, &m}
		z := rapid.Float64Range(-3, 3).Draw(t, "z")
		require.InDelta(t, 0, p.root(z, m.At(z)).r, 1e-7)
		se := m.seAt(z)
		last := math.Inf(-1)
		for i := -6; i <= 6; i++ {
			q := m.At(z) + 0.7*float64(i)*se
			s := p.root(z, q)
			require.Greater(t, s.r, last-1e-7)
			last = s.r
			if i == 0 {
				continue
			}
			h := 1e-4 * se
			require.InDelta(t, (p.root(z, q+h).r-p.root(z, q-h).r)/(2*h)*se, s.byQ*se, 1e-4)
			h = 1e-4 * se / m.Sigma
			require.InDelta(t, (p.root(z+h, q).r-p.root(z-h, q).r)/(2*h)*se/m.Sigma, s.byZ*se/m.Sigma, 1e-4)
		}
	})
}

// With one-sided readings only the spread may be anything large, and then a percentile has no upper limit while the exceedance
// still has.
func TestProfileOfOneSidedReadings(t *testing.T) {
	t.Parallel()
	d := onScale(nil, []Bound{{0, 2}, {3, 2}}, []Bound{{1, 2}}, nil)
	m, err := Maximize(d)
	require.NoError(t, err)
	p := Profile{&d, &m}
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
	d = onScale(nil, []Bound{{0, 60}, {3, 60}}, []Bound{{1, 30}, {-2, 20}}, nil)
	m, err = Maximize(d)
	require.NoError(t, err)
	lower, upper, err = Profile{&d, &m}.percentileLimits(z95, z95)
	require.NoError(t, err)
	require.Less(t, lower, m.At(z95))
	require.Greater(t, upper, m.At(z95))
	require.False(t, math.IsInf(upper, 1))
}

func BenchmarkSignedRoot(b *testing.B) {
	d := NewData(samples.Groups(b, "censored_samples.json")["M08"].Readings(b), 1)
	m, err := Maximize(d)
	require.NoError(b, err)
	p := Profile{&d, &m}
	b.ReportAllocs()
	for b.Loop() {
		p.root(1.645, m.At(1.645)+1.6*m.seAt(1.645))
	}
}

func BenchmarkProfileLimits(b *testing.B) {
	d := NewData(samples.Groups(b, "censored_samples.json")["M08"].Readings(b), 1)
	m, err := Maximize(d)
	require.NoError(b, err)
	p := Profile{&d, &m}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := p.percentileLimits(1.645, 1.645); err != nil {
			b.Fatal(err)
		}
	}
}
