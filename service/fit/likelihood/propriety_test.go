package likelihood

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/internal/reference"
	"example.com/tailbound/service/internal/samples"
)

// proprietyPattern builds the readings that a row of the reference table names.
func proprietyPattern(name string) (Data, bool) {
	at := func(points ...float64) []Bound {
		out := make([]Bound, len(points))
		for i, p := range points {
			out[i] = Bound{p, 1}
		}
		return out
	}
	patterns := map[string]Data{
		"2 distinct exact":                     onScale([]float64{0, 1}, nil, nil, nil),
		"2 equal exact":                        onScale([]float64{0, 0}, nil, nil, nil),
		"3 equal exact":                        onScale([]float64{0, 0, 0}, nil, nil, nil),
		"2 distinct exact, lt below/above":     onScale([]float64{0, 1}, at(-1, 2), nil, nil),
		"1 exact + lt below it":                onScale([]float64{0}, at(-1), nil, nil),
		"1 exact + lt above it":                onScale([]float64{0}, at(1), nil, nil),
		"1 exact + lt below + gt above":        onScale([]float64{0}, at(-1), at(1), nil),
		"2 equal exact + lt below":             onScale([]float64{0, 0}, at(-1), nil, nil),
		"2 equal exact + lt above":             onScale([]float64{0, 0}, at(1), nil, nil),
		"2 equal exact + lt at the same value": onScale([]float64{0, 0}, at(0), nil, nil),
		"2 equal exact + gt above":             onScale([]float64{0, 0}, nil, at(1), nil),
		"1 exact + band without it":            onScale([]float64{0}, nil, nil, []Band{{1, 2, 1}}),
		"1 exact + band with it":               onScale([]float64{0}, nil, nil, []Band{{-1, 1, 1}}),
		"1 exact + band ending at it":          onScale([]float64{0}, nil, nil, []Band{{-1, 0, 1}}),
		"2 disjoint bands":                     onScale(nil, nil, nil, []Band{{-1, 0, 1}, {1, 2, 1}}),
		"2 overlapping bands":                  onScale(nil, nil, nil, []Band{{-1, 1, 1}, {0, 2, 1}}),
		"2 touching bands":                     onScale(nil, nil, nil, []Band{{-1, 0, 1}, {0, 1, 1}}),
		"2 overlapping bands + lt below both":  onScale(nil, at(-2), nil, []Band{{-1, 1, 1}, {0, 2, 1}}),
		"1 band + lt below it":                 onScale(nil, at(-2), nil, []Band{{-1, 1, 1}}),
		"lt and gt, disjoint":                  onScale(nil, at(-1), at(1), nil),
		"lt and gt, overlapping":               onScale(nil, at(1), at(-1), nil),
	}
	d, ok := patterns[name]
	return d, ok
}

// Source: posterior_propriety.csv; its slopes of the marginal of ln sigma are computed here again.
func TestProprietyTable(t *testing.T) {
	t.Parallel()
	rows := reference.Rows(t, "posterior_propriety.csv")
	require.Len(t, rows, 21)
	for _, row := range rows {
		name := row["pattern"]
		d, ok := proprietyPattern(name)
		require.True(t, ok, name)
		proper, reason := ProperUnderReference(&d)
		require.Equal(t, row["verdict"] == "proper", proper, name)
		require.Equal(t, proper, reason == "", name)
		up, down := marginalSlope(&d, 8, 9), marginalSlope(&d, -5, -4)
		requireSlope(t, row.Float(t, "slope_inf"), up, name)
		requireSlope(t, row.Float(t, "slope_0"), down, name)
	}
}

func requireSlope(tb testing.TB, want, got float64, name string) {
	tb.Helper()
	if math.IsInf(want, 0) || math.IsNaN(want) {
		// NaN says that the decay is too fast for the difference to be taken.
		if got < 50 {
			require.Fail(tb, "slope is too small", "%s: %v", name, got)
		}
		return
	}
	require.InDelta(tb, want, got, 0.02, name)
}

// marginalSlope is the mean slope of ln m between two values of lambda = ln sigma; +Inf or NaN where m vanishes.
func marginalSlope(d *Data, from, to float64) float64 {
	return (logMarginal(d, to) - logMarginal(d, from)) / (to - from)
}

// logMarginal is ln of the integral over mu at lambda = ln sigma, by the trapezoid rule.
func logMarginal(d *Data, lambda float64) float64 {
	const steps = 5 // a standard deviation
	sigma := math.Exp(lambda)
	l := Function{Data: d}
	lo, hi := -6-12*sigma, 6+12*sigma
	n := int(math.Ceil((hi - lo) / sigma * steps))
	h := (hi - lo) / float64(n)
	sum := 0.0
	for i := range n {
		sum += math.Exp(l.At((lo+h*float64(i))/sigma, 1/sigma).Value)
	}
	return math.Log(sum * h)
}

// On random small patterns with weights the rule agrees with the slopes of the marginal at both ends.
func TestProprietyAgreesWithTheMarginal(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := smallPattern(t)
		if d.Exact == 0 && (len(d.Above) == 0 || len(d.Below) == 0) && len(d.Between) == 0 {
			proper, _ := ProperUnderReference(&d)
			require.False(t, proper)
			return
		}
		d.weigh(rapid.SampledFrom([]float64{0.2, 0.3, 0.75, 1}).Draw(t, "weight"))
		d.shift(-2)
		proper, _ := ProperUnderReference(&d)
		up, down := marginalSlope(&d, 8, 9), marginalSlope(&d, -5, -4)
		require.Equal(t, proper, up < -0.05 && !(down <= 0.05), "%+v: up %v, down %v", d, up, down)
	})
}

// weigh and shift change the weight and the place of all readings of a pattern.
func (d *Data) weigh(w float64) {
	d.Exact *= w
	d.Squares *= w
	for i := range d.Below {
		d.Below[i].Weight *= w
	}
	for i := range d.Above {
		d.Above[i].Weight *= w
	}
	for i := range d.Between {
		d.Between[i].Weight *= w
	}
}

func (d *Data) shift(by float64) {
	d.Mean, d.Minimum, d.Maximum = d.Mean+by, d.Minimum+by, d.Maximum+by
	for i := range d.Below {
		d.Below[i].At += by
	}
	for i := range d.Above {
		d.Above[i].At += by
	}
	for i := range d.Between {
		d.Between[i].Lower += by
		d.Between[i].Upper += by
	}
}

func TestProprietySaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	groups := samples.Groups(t, "censored_samples.json")
	// S08 has a maximum but one detected reading.
	d := NewData(groups["S08"].Readings(t), 1)
	_, err := Maximize(d)
	require.NoError(t, err)
	proper, reason := ProperUnderReference(&d)
	require.False(t, proper)
	require.Contains(t, reason, "there is only one")
	d = onScale([]float64{1, 1}, nil, nil, nil)
	_, reason = ProperUnderReference(&d)
	require.Contains(t, reason, "every reading has the same value")
	d.weigh(0.25)
	_, reason = ProperUnderReference(&d)
	require.Contains(t, reason, "there are 0.5")
	d = Data{}
	_, reason = ProperUnderReference(&d)
	require.Contains(t, reason, "there is none")
	d = onScale(nil, nil, nil, []Band{{0, 1, 2}})
	_, reason = ProperUnderReference(&d)
	require.Contains(t, reason, "one single exposure")
	d = onScale([]float64{1, 1}, []Bound{{2, 1}}, nil, nil)
	_, reason = ProperUnderReference(&d)
	require.Contains(t, reason, "could have that value too")
}
