package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/samples"
)

// Source: degenerate_samples.json, where R survreg gives plausible numbers or no warning for five of the ten.
func TestDegenerateSamplesHaveNoMaximum(t *testing.T) {
	t.Parallel()
	want := map[string]obstacle{
		"D01": allBelow, "D02": allEqual, "D03": equalWithinRanges, "D04": separated, "D05": commonRange,
		"D06": equalWithinRanges, "D07": allEqual, "D08": allAbove, "D09": commonRange, "D10": equalWithinRanges,
	}
	groups := samples.Groups(t, "degenerate_samples.json")
	require.Len(t, groups, len(want))
	for id, o := range want {
		_, err := Maximize(NewData(groups[id].Readings(t), 1))
		require.Equal(t, fault.Undetermined, fault.CodeOf(err), id)
		var got obstacle
		require.ErrorAs(t, err, &got, id)
		require.Equal(t, o, got, id)
		require.Equal(t, o.Error(), err.Error())
	}
	_, err := Maximize(Data{})
	require.ErrorIs(t, err, noReadings)
}

func TestExistenceOfSmallPatterns(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name   string
		values []float64
		below  []Bound
		above  []Bound
		Band   []Band
		want   obstacle
	}{
		{name: "one value over a limit", values: []float64{1}, below: []Bound{{0.5, 1}}, want: noObstacle},
		{name: "one value at a limit", values: []float64{1}, below: []Bound{{1, 1}}, want: equalWithinRanges},
		{name: "one value under a range", values: []float64{1}, above: []Bound{{2, 1}}, want: noObstacle},
		{name: "one value outside a band", values: []float64{1}, Band: []Band{{2, 3, 1}}, want: noObstacle},
		{name: "one value at the end of a band", values: []float64{1}, Band: []Band{{1, 3, 1}}, want: equalWithinRanges},
		{name: "equal values over a limit", values: []float64{1, 1}, below: []Bound{{0.5, 1}}, want: noObstacle},
		{name: "bands apart", Band: []Band{{0, 1, 1}, {2, 3, 1}}, want: noObstacle},
		{name: "bands that touch", Band: []Band{{0, 1, 1}, {1, 3, 1}}, want: commonRange},
		{name: "band and a limit under it", below: []Bound{{0, 1}}, Band: []Band{{1, 3, 1}}, want: noObstacle},
		{name: "band and a limit through it", below: []Bound{{2, 1}}, Band: []Band{{1, 3, 1}}, want: commonRange},
		{name: "limits and ranges that cross", below: []Bound{{0, 1}, {3, 1}}, above: []Bound{{1, 1}}, want: noObstacle},
		{name: "limits and ranges of equal mean", below: []Bound{{0, 1}, {2, 1}}, above: []Bound{{1, 1}}, want: separated},
		{name: "limits and ranges the wrong way", below: []Bound{{0, 1}, {2, 1}}, above: []Bound{{1.5, 1}}, want: separated},
		{name: "weights turn it", below: []Bound{{0, 1}, {2, 2}}, above: []Bound{{1.2, 1}}, want: noObstacle},
		{name: "limit and range at one point", below: []Bound{{1, 1}}, above: []Bound{{1, 1}}, want: commonRange},
	}
	for _, c := range cases {
		d := onScale(c.values, c.below, c.above, c.Band)
		require.Equal(t, c.want, d.obstacle(), c.name)
		require.Equal(t, c.want == noObstacle, hasInnerMaximum(&d), "by brute force: "+c.name)
	}
}

// hasInnerMaximum decides by brute force: the likelihood, maximized over mu at each of a row of spreads from e^-9 to e^9, is
// larger inside than at either end.
func hasInnerMaximum(d *Data) bool {
	const steps, span = 24, 9.0
	best, ends := math.Inf(-1), math.Inf(-1)
	for i := range steps + 1 {
		v := bestMu(d, math.Exp(span*(2*float64(i)/steps-1)))
		if i == 0 || i == steps {
			ends = max(ends, v)
		} else {
			best = max(best, v)
		}
	}
	return best > ends+1e-7
}

// bestMu maximizes the likelihood over mu by golden section; it is concave there.
func bestMu(d *Data, sigma float64) float64 {
	l := Function{Data: d}
	value := func(alpha float64) float64 { return l.At(alpha, 1/sigma).Value }
	const golden = 0.6180339887498949
	lo, hi := -5/sigma-9, 5/sigma+9
	x, y := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fx, fy := value(x), value(y)
	for range 75 {
		if fx > fy {
			hi, y, fy = y, x, fx
			x = hi - golden*(hi-lo)
			fx = value(x)
		} else {
			lo, x, fx = x, y, fy
			y = lo + golden*(hi-lo)
			fy = value(y)
		}
	}
	return max(fx, fy)
}

// smallPattern draws up to three readings of each kind with bounds on a small grid, so that ties and touching ends are common.
func smallPattern(t *rapid.T) Data {
	point := rapid.Map(rapid.IntRange(0, 4), func(i int) float64 { return float64(i) })
	values := rapid.SliceOfN(point, 0, 3).Draw(t, "values")
	var below, above []Bound
	var bands []Band
	for _, v := range rapid.SliceOfN(point, 0, 3).Draw(t, "below") {
		below = append(below, Bound{v, 1})
	}
	for _, v := range rapid.SliceOfN(point, 0, 3).Draw(t, "above") {
		above = append(above, Bound{v, 1})
	}
	for _, v := range rapid.SliceOfN(point, 0, 2).Draw(t, "between") {
		bands = append(bands, Band{v, v + float64(rapid.IntRange(1, 3).Draw(t, "width")), 1})
	}
	return onScale(values, below, above, bands)
}

// The conditions agree with brute force, and where a maximum exists it is found and no point around it is higher.
func TestExistenceAgreesWithBruteForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := smallPattern(t)
		m, err := Maximize(d)
		var o obstacle
		if err != nil {
			require.ErrorAs(t, err, &o)
		}
		if o == noReadings {
			return
		}
		require.Equal(t, err == nil, hasInnerMaximum(&d), "%+v: %v", d, o)
		if err != nil {
			return
		}
		l := Function{Data: &d}
		for _, step := range [][2]float64{{0.01, 0}, {-0.01, 0}, {0, 0.01}, {0, -0.01}, {0.01, 0.01}, {0.01, -0.01}} {
			mu, sigma := m.Mu+step[0]*m.MuError, m.Sigma*math.Exp(step[1]*m.LogSpreadError)
			require.Less(t, l.At(mu/sigma, 1/sigma).Value, m.LogLikelihood)
		}
	})
}

func TestEveryObstacleHasItsSentence(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for o := noObstacle; o <= separated+1; o++ {
		require.NotEmpty(t, o.Error())
		require.False(t, seen[o.Error()], o.Error())
		seen[o.Error()] = true
	}
}
