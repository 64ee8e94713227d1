package variance

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
)

// TestOutsider: one zone stands out of a uniform group.
func TestOutsider(t *testing.T) {
	t.Parallel()
	l := math.Log(50.0)
	r := partition(t, sheet([]float64{1.0, 1.6, 0.7}, []float64{0.9, 1.2, 1.5}, []float64{1.3, 0.8, 1.1}, []float64{0.8, 1.4, 1.0}, []float64{30, 22, 35},
		[]float64{1.2, 0.9, 1.0}), Options{LogLimit: &l})
	require.False(t, r.Pooling.Pool)
	require.True(t, r.Pooling.Settled)
	require.Equal(t, []string{"E"}, r.Pooling.Outsiders)
	require.Equal(t, "Judge the zones apart: some do not belong.", r.Pooling.Reasons[0])
	require.Contains(t, r.Pooling.Reasons[4], `"E" does not belong: its mean lies `)
	require.Contains(t, r.Pooling.Reasons[4], " standard deviations above what the others foretell, p = ")
	require.Contains(t, r.Pooling.Reasons[4], " for 6 zones together.")
	require.True(t, r.Zones[0].Outside)
	require.Greater(t, r.Zones[0].Deviance, 4.0)
	require.Equal(t, []string{"E"}, r.Split.Groups[0].Zones)
}

// TestStandingIsTheDeletedT: in a balanced layout whose variation between zones is large, a zone's p-value is that of the deleted t of
// the zone means (an outlier test: Grubbs 1969, from memory), t = (y - mean of others)/(s of others sqrt(1 + 1/(k-1))), by hand.
func TestStandingIsTheDeletedT(t *testing.T) {
	t.Parallel()
	means := []float64{0, 2.5, -1.7, 4.1, 0.9, -3.3}
	rows := make([][]float64, len(means))
	for i, m := range means {
		rows[i] = []float64{m - 0.001, m, m + 0.001}
	}
	r := partition(t, exponentials(1, rows...), Options{})
	for _, z := range r.Zones {
		i := int(z.Name[0] - 'A')
		var sum, squares float64
		for j, m := range means {
			if j != i {
				sum += m
				squares += m * m
			}
		}
		k := float64(len(means) - 1)
		mean := sum / k
		s := math.Sqrt((squares - k*mean*mean) / (k - 1))
		student := math.Abs(means[i]-mean) / (s * math.Sqrt(1+1/k))
		// Nodes in theta are coarse for p-values.
		require.InEpsilon(t, 2*numeric.StudentTSurvival(k-1, student), z.PValue, 1e-3, z.Name)
		require.Equal(t, means[i] > mean, z.Deviance > 0)
	}
}

// TestVerdicts walks the branches.
func TestVerdicts(t *testing.T) {
	t.Parallel()
	alike := make([][]float64, 10)
	for i := range alike {
		for j := range 20 {
			alike[i] = append(alike[i], 0.1*numeric.NormalQuantile((float64(j)+0.5)/20)+0.001*float64(i%3))
		}
	}
	slight := make([][]float64, 10)
	for i := range slight {
		for j := range 20 {
			slight[i] = append(slight[i], 0.1*numeric.NormalQuantile((float64(j)+0.5)/20)+0.03*float64(i-5))
		}
	}
	cases := []struct {
		name, first   string
		rows          [][]float64
		limit         float64
		pool, settled bool
	}{
		{"alike", "The zones may be pooled: they are shown to be alike.", alike, 5, true, true},
		{"slight differences, limit elsewhere", "The zones may be pooled: they are shown to be alike.", slight, 5, true, true},
		{"slight differences, limit amid", "Judge the zones apart: they differ by more than chance would make them.", slight, 0.16, false, true},
		{
			"little known", "The zones may be pooled for want of evidence: nothing shows that they differ, nor that they are alike.",
			[][]float64{{0, 1.5}, {0.4, 2.1}, {-0.2, 1.1}},
			5, true, false,
		},
	}
	for _, c := range cases {
		rows := make([][]float64, len(c.rows))
		for i := range rows {
			rows[i] = append([]float64(nil), c.rows[i]...)
		}
		r := partition(t, exponentials(1, rows...), Options{LogLimit: &c.limit})
		require.Equal(t, c.first, r.Pooling.Reasons[0], c.name)
		require.Equal(t, c.pool, r.Pooling.Pool, c.name)
		require.Equal(t, c.settled, r.Pooling.Settled, c.name)
	}
}

func TestWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, "95th percentile", percentile(0.95))
	require.Equal(t, "91st percentile", percentile(0.91))
	require.Equal(t, "92nd percentile", percentile(0.92))
	require.Equal(t, "73rd percentile", percentile(0.73))
	require.Equal(t, "97.5th percentile", percentile(0.975))
	require.Equal(t, "99.9th percentile", percentile(0.999))
	o := Options{Confidence: 0.95}
	require.Equal(t, "95 % limits 1.00 and 2.00", limits(Bounds{1.5, 1, 2}, o, number))
	require.Equal(t, "lower 95 % limit 1.00, upper beyond numbers", limits(Bounds{1.5, 1, math.NaN()}, o, number))
	require.Equal(t, "without limits", limits(Bounds{1.5, math.NaN(), math.NaN()}, o, number))
}

// TestSubjects: the words follow what the readings are divided by.
func TestSubjects(t *testing.T) {
	t.Parallel()
	r := partition(t, iron(), Options{What: "subject"})
	require.Equal(t, "Judge the subjects apart: they differ by more than chance would make them.", r.Pooling.Reasons[0])
	require.Contains(t, r.Pooling.Reasons[1], "F test of no difference between the subjects: F = 3.39 with 5 and 18 degrees of freedom, p = 0.0249;")
	require.Contains(t, r.Pooling.Reasons[2], "The 97.5th percentile of the subject means is 4.62 times the 2.5th (95 % limits 1.72 and 39.1)")
}

// TestMethods: every quantity of the answer has a method and a source.
func TestMethods(t *testing.T) {
	t.Parallel()
	l := math.Log(200.0)
	r := partition(t, iron(), Options{LogLimit: &l})
	seen := map[string]bool{}
	for _, m := range Methods(&r) {
		require.NotEmpty(t, m.Method)
		require.NotEmpty(t, m.Source)
		require.False(t, seen[m.Quantity])
		seen[m.Quantity] = true
	}
	require.True(t, seen["chanceAboveLimit"])
	require.False(t, seen["split"])
	censored := partition(t, censoredGroups(t)["A"], Options{})
	require.Contains(t, Methods(&censored)[0].Method, "integrated out")
}
