package variance

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// BenchmarkPartition measures 20 zones of 10 readings, all with a value and with a fifth below a reporting limit. The limit of 3 cuts
// through the zones, so that everything is computed, the split included.
func BenchmarkPartition(b *testing.B) {
	g := truth{zones: 20, readings: 10, share: 0.4, equal: true}
	limit := math.Log(3)
	for _, c := range []struct {
		name  string
		below float64
	}{{"values", 0}, {"fifth below", 0.2}} {
		bound := math.Exp(numeric.NormalQuantile(c.below))
		readings := g.draw(rand.New(rand.NewPCG(1, 2)), bound)
		b.Run(c.name, func(b *testing.B) {
			counts := reading.Count(readings)
			for b.Loop() {
				_, err := Partition(readings, zoneOf, Options{LogLimit: &limit})
				require.NoError(b, err)
			}
			b.ReportMetric(float64(counts.Censored()), "censored")
		})
	}
}

// BenchmarkMarginal measures one evaluation of the censored likelihood with its derivatives, 20 zones of 10 readings.
func BenchmarkMarginal(b *testing.B) {
	g := truth{zones: 20, readings: 10, share: 0.4, equal: true}
	zones, err := gather(g.draw(rand.New(rand.NewPCG(1, 2)), math.Exp(numeric.NormalQuantile(0.2))), zoneOf, "zone")
	require.NoError(b, err)
	m := newMarginal(zones)
	for b.Loop() {
		m.at(place{0, 0.6, 0.8})
	}
}
