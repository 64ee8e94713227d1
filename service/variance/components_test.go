package variance

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// The estimates alone are those of the whole, which are checked against the reference tables.
func TestComponentsAreThoseOfThePartition(t *testing.T) {
	t.Parallel()
	g := truth{zones: 6, readings: 4, share: 0.4, equal: true}
	limit := math.Log(3)
	for _, below := range []float64{0, 0.2} {
		readings := g.draw(rand.New(rand.NewPCG(1, 2)), math.Exp(numeric.NormalQuantile(below)))
		whole, err := Partition(readings, zoneOf, Options{LogLimit: &limit})
		require.NoError(t, err)
		got, err := Components(readings, zoneOf, "zone")
		require.NoError(t, err)
		require.Equal(t, whole.Restricted, got)
		require.InDelta(t, whole.Chance.Estimate, got.Above(numeric.NormalQuantile(0.95), limit), 1e-14)
	}
	_, err := Components([]reading.Reading{reading.At(1)}, func(reading.Reading) string { return "P1" }, "subject")
	require.Equal(t, fault.Undetermined, fault.CodeOf(err))
	_, err = Components([]reading.Reading{reading.At(1)}, func(reading.Reading) string { return "" }, "subject")
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
}

func BenchmarkComponents(b *testing.B) {
	g := truth{zones: 20, readings: 10, share: 0.4, equal: true}
	for name, below := range map[string]float64{"values": 0, "fifth below": 0.2} {
		readings := g.draw(rand.New(rand.NewPCG(1, 2)), math.Exp(numeric.NormalQuantile(below)))
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := Components(readings, zoneOf, "zone")
				require.NoError(b, err)
			}
		})
	}
}
