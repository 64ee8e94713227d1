package figure

import (
	"bytes"
	"math"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit/check"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// number is any number, the odd ones often.
func anyNumber() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.SampledFrom([]float64{0, -1, 1, math.NaN(), math.Inf(1), math.Inf(-1), 5e-324, math.MaxFloat64, 0x1p-1022, 0.05, 0.95}),
		rapid.Custom(func(t *rapid.T) float64 { return math.Exp(rapid.Float64Range(-20, 20).Draw(t, "exp")) }),
		rapid.Float64(),
	)
}

func anyBounds(t *rapid.T) limit.Bounds {
	v := func() float64 { return anyNumber().Draw(t, "bound") }
	return limit.Bounds{Estimate: v(), Lower: v(), Upper: v()}
}

func anyReading(t *rapid.T) reading.Reading {
	r := reading.Reading{
		Kind: reading.Kind(rapid.Uint8Range(0, 5).Draw(t, "kind")), Lower: anyNumber().Draw(t, "lower"), Upper: anyNumber().Draw(t, "upper"),
		Zone: rapid.StringN(-1, 12, 40).Draw(t, "zone"),
	}
	if rapid.Bool().Draw(t, "timed") {
		r.Start = time.Unix(rapid.Int64Range(-62135596800, 253402300799).Draw(t, "start"), 0)
	}
	return r
}

func anyCurve(t *rapid.T) []report.CurvePoint {
	v := func() float64 { return anyNumber().Draw(t, "curve") }
	return rapid.SliceOfN(rapid.Custom(func(*rapid.T) report.CurvePoint {
		return report.CurvePoint{Fraction: v(), Concentration: v(), Lower: v(), Upper: v()}
	}), 0, 6).Draw(t, "points")
}

func anyAssessment(t *rapid.T) *report.Assessment {
	v := func() float64 { return anyNumber().Draw(t, "number") }
	some := func() bool { return rapid.IntRange(0, 5).Draw(t, "there") > 0 }
	readings := rapid.SliceOfN(rapid.Custom(anyReading), 0, 8).Draw(t, "readings")
	a := &report.Assessment{Name: rapid.String().Draw(t, "name"), Agent: rapid.String().Draw(t, "agent"), Unit: "mg/m3", Sample: reading.Count(readings)}
	if some() {
		a.Limit = &reading.Limit{Value: v(), Unit: "ppm"}
	}
	if some() {
		a.Fit = &report.Fit{GeometricMean: anyBounds(t), GeometricStandardDeviation: anyBounds(t)}
	}
	if some() {
		a.Percentile = &report.Percentile{Fraction: v(), Confidence: v(), Bounds: anyBounds(t)}
	}
	if some() {
		a.Exceedance = &report.Exceedance{Limit: v(), Confidence: v(), Bounds: anyBounds(t)}
	}
	if some() {
		a.Posterior = &report.Posterior{PercentileAboveLimit: v(), Bands: []report.Band{{Upper: v(), Probability: v()}, {Lower: v(), Upper: v(), Probability: v()}}}
	}
	if some() {
		a.FitCheck = &report.FitCheck{}
		for i := range readings {
			a.FitCheck.Plot = append(a.FitCheck.Plot, check.PlotPoint{
				Reading: v(), NormalScore: v(), Kind: readings[i].Kind, Lower: readings[i].Lower, Upper: readings[i].Upper,
			})
		}
	}
	if some() {
		a.Curves = &report.Curves{Percentiles: anyCurve(t), Exceedances: anyCurve(t)}
		for range rapid.IntRange(0, 6).Draw(t, "density") {
			a.Curves.Density = append(a.Curves.Density, report.DensityPoint{Concentration: v(), Density: v()})
		}
	}
	a.Decision = &decision.Decision{Outcome: decision.Outcome(rapid.Uint8().Draw(t, "outcome"))}
	return a
}

func anyPlan(t *rapid.T) *report.Plan {
	v := func() float64 { return anyNumber().Draw(t, "number") }
	rows := func() []planning.Row {
		n := rapid.IntRange(0, 4).Draw(t, "rows")
		out := make([]planning.Row, n)
		for i := range out {
			out[i] = planning.Row{Samples: rapid.IntRange(-5, 2000).Draw(t, "n"), Chances: planning.Chances{Compliant: v(), NotCompliant: v(), Undecided: v()}}
		}
		return out
	}
	p := &report.Plan{
		Rule: decision.Rule(rapid.Uint8().Draw(t, "rule")), Limit: reading.Limit{Value: v()}, Rows: rows(),
		Want: planning.Want{Aim: planning.Aim(rapid.Uint8().Draw(t, "aim")), Chance: v()}, Needed: planning.Needed{Samples: rapid.Int().Draw(t, "needed")},
	}
	if rapid.Bool().Draw(t, "prospect") {
		p.Prospect = &planning.Prospect{Rows: rows()}
	}
	for range rapid.IntRange(0, 9).Draw(t, "curves") {
		p.Curves = append(p.Curves, planning.Curve{PercentileToLimit: v(), GeometricStandardDeviation: v(), Rows: rows()})
	}
	return p
}

func anyTrace(t *rapid.T) *TraceFigure {
	v := func() float64 { return anyNumber().Draw(t, "number") }
	at := func() time.Time {
		return time.Unix(rapid.Int64Range(-62135596800, 253402300799).Draw(t, "time"), 0)
	}
	span := func() TraceSpan { return TraceSpan{at(), at(), v(), v(), v(), rapid.Bool().Draw(t, "usable")} }
	f := &TraceFigure{Agent: rapid.String().Draw(t, "agent"), DetectionLimit: v(), FullScale: v(), From: at(), To: at(), Largest: span()}
	for range rapid.IntRange(0, 5).Draw(t, "columns") {
		f.Columns = append(f.Columns, TraceColumn{v(), v(), v(), v()})
	}
	for range rapid.IntRange(0, 3).Draw(t, "spans") {
		f.Averages, f.Gaps = append(f.Averages, span()), append(f.Gaps, span())
	}
	return f
}

// Whatever the model holds, a figure is well-formed or refused by a fault.
func TestAnyModelIsDrawnOrRefused(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		a := anyAssessment(rt)
		c := &report.Comparison{Campaigns: []*report.Assessment{a, anyAssessment(rt)}, Percentile: 0.95, Confidence: 0.95}
		readings := rapid.SliceOfN(rapid.Custom(anyReading), 0, 8).Draw(rt, "timed")
		var out bytes.Buffer
		for _, err := range []error{
			drawn(&out, func() error { return Probability(&out, a, SVG) }), drawn(&out, func() error { return Exceedance(&out, a, SVG) }),
			drawn(&out, func() error { return Posterior(&out, a, SVG) }), drawn(&out, func() error { return Time(&out, a, readings, SVG) }),
			drawn(&out, func() error { return Campaigns(&out, c, SVG) }), drawn(&out, func() error { return Sampling(&out, anyPlan(rt), SVG) }),
			drawn(&out, func() error { return Trace(&out, anyTrace(rt), SVG) }),
		} {
			require.True(rt, err == nil || fault.CodeOf(err) == fault.Undetermined, "%v", err)
		}
	})
}

// distant finds a coordinate of five digits and more.
var distant = regexp.MustCompile(`(?: d="[^"]*| x="| y=")-?[0-9]{5}`)

// drawn also looks for numbers that are none and for coordinates that no screen has.
func drawn(out *bytes.Buffer, draw func() error) error {
	out.Reset()
	err := draw()
	if err == nil && (distant.Match(out.Bytes()) || !bytes.HasSuffix(out.Bytes(), []byte("</svg>\n"))) {
		return fault.Wrap(nil, "%s", out.String())
	}
	return err
}
