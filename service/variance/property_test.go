package variance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// someReadings draws two to six zones of mixed readings.
func someReadings(t *rapid.T) []reading.Reading {
	// Few different values, so that ties and equal zones occur.
	value := rapid.Custom(func(t *rapid.T) float64 { return math.Exp2(float64(rapid.IntRange(-12, 12).Draw(t, "v")) / 4) })
	var out []reading.Reading
	for i := range rapid.IntRange(2, 6).Draw(t, "zones") {
		for range rapid.IntRange(1, 5).Draw(t, "readings") {
			v := value.Draw(t, "value")
			r := reading.At(v)
			switch rapid.IntRange(0, 9).Draw(t, "kind") {
			case 0, 1:
				r = reading.Under(v)
			case 2:
				r = reading.Over(v)
			case 3:
				r = reading.Within(v, v*2)
			}
			r.Zone = fmt.Sprint("zone ", i)
			out = append(out, r)
		}
	}
	return out
}

// bits writes every number of an answer exactly; NaN are all alike.
func bits(r Result) string { return fmt.Sprintf("%#v", flatten(reflect.ValueOf(r))) }

func flatten(v reflect.Value) any {
	switch v.Kind() {
	case reflect.Float64:
		return fmt.Sprintf("%x", v.Float())
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return flatten(v.Elem())
	case reflect.Struct:
		out := make([]any, v.NumField())
		for i := range out {
			out[i] = flatten(v.Field(i))
		}
		return out
	case reflect.Slice:
		out := make([]any, v.Len())
		for i := range out {
			out[i] = flatten(v.Index(i))
		}
		return out
	default:
		return fmt.Sprint(v)
	}
}

// numbersOnly leaves out what names the zones, whose order breaks ties.
func numbersOnly(r Result) Result {
	for i := range r.Zones {
		r.Zones[i].Name = ""
	}
	r.Pooling.Reasons, r.Pooling.Outsiders, r.Notes = nil, nil, nil
	if r.Split != nil {
		split := *r.Split
		for i := range split.Groups {
			split.Groups[i].Zones = nil
		}
		r.Split = &split
	}
	return r
}

// TestOrderAndNamesNeverMatter: bit for bit.
func TestOrderAndNamesNeverMatter(t *testing.T) {
	t.Parallel()
	limit := 0.7
	rapid.Check(t, func(t *rapid.T) {
		readings := someReadings(t)
		want, err := Partition(readings, zoneOf, Options{LogLimit: &limit})
		shuffled := rapid.Permutation(readings).Draw(t, "order")
		got, other := Partition(shuffled, zoneOf, Options{LogLimit: &limit})
		require.Equal(t, err == nil, other == nil)
		require.Equal(t, bits(want), bits(got))
		names := rapid.Permutation([]string{"n0", "n1", "n2", "n3", "n4", "n5"}).Draw(t, "names")
		renamed := func(r reading.Reading) string { return names[r.Zone[len(r.Zone)-1]-'0'] }
		got, other = Partition(shuffled, renamed, Options{LogLimit: &limit})
		require.Equal(t, err == nil, other == nil)
		require.Equal(t, bits(numbersOnly(want)), bits(numbersOnly(got)))
	})
}

// TestAnyReadingsGiveFiniteNumbersOrAFault: no Inf, and NaN only where it is documented; limits enclose, chances lie in 0..1.
func TestAnyReadingsGiveFiniteNumbersOrAFault(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(-3, 3).Draw(t, "limit")
		confidence := rapid.SampledFrom([]float64{0.5, 0.7, 0.95, 0.9999}).Draw(t, "confidence")
		r, err := Partition(someReadings(t), zoneOf, Options{LogLimit: &limit, Confidence: confidence})
		if err != nil {
			require.Equal(t, fault.Undetermined, fault.CodeOf(err), "%v", err)
			return
		}
		require.NotContains(t, bits(r), "Inf")
		require.Positive(t, r.Within.Estimate)
		require.GreaterOrEqual(t, r.Between.Estimate, 0.0)
		for _, b := range []Bounds{r.Between, r.Within, r.Share, *r.Chance} {
			require.True(t, b.Lower <= b.Upper || math.IsNaN(b.Upper), "%v", b)
		}
		for _, b := range []Bounds{r.Share, *r.Chance} {
			require.True(t, b.Estimate >= 0 && b.Estimate <= 1 && !(b.Lower < 0) && !(b.Upper > 1))
		}
		require.False(t, r.Test.PValue < 0 || r.Test.PValue > 1)
		require.NotEmpty(t, r.Pooling.Reasons)
	})
}

// TestScale: another unit moves mu and the geometric means and leaves the rest.
func TestScale(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 9))
	for _, below := range []float64{0, 0.5} {
		readings := truth{zones: 7, readings: 4, share: 0.5}.draw(rng, below)
		limit := math.Log(2.0)
		want := partition(t, readings, Options{LogLimit: &limit})
		for _, factor := range []float64{1e-9, 1e6} {
			scaled := make([]reading.Reading, len(readings))
			for i, r := range readings {
				r.Lower *= factor
				r.Upper *= factor
				scaled[i] = r
			}
			moved := limit + math.Log(factor)
			got := partition(t, scaled, Options{LogLimit: &moved})
			for _, pair := range [][2]float64{
				{got.Between.Estimate, want.Between.Estimate},
				{got.Between.Upper, want.Between.Upper},
				{got.Within.Lower, want.Within.Lower},
				{got.Chance.Upper, want.Chance.Upper},
				{got.Test.PValue, want.Test.PValue},
				{got.Likelihood.LogLikelihood, want.Likelihood.LogLikelihood},
				{got.Zones[0].Shrunken / factor, want.Zones[0].Shrunken},
				{got.Zones[6].PValue, want.Zones[6].PValue},
			} {
				require.InEpsilon(t, pair[1], pair[0], 1e-8)
			}
			require.Equal(t, want.Pooling.Pool, got.Pooling.Pool)
		}
	}
}
