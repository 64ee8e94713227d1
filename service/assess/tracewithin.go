package assess

import (
	"math"
	"strings"

	"example.com/tailbound/service/fit/likelihood"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/trace"
)

// serialCaution is what a distribution of the values of one period tells and what it does not.
const serialCaution = "The logged values follow one another and are not independent: they tell how the level went up and down during this period and " +
	"nothing of other shifts. There are therefore no confidence limits."

// within describes the logged values of one average. The error is that of a conversion.
func within(v *trace.Average, sensor *trace.Channel, measured *TraceChannel) (*report.WithinPeriod, error) {
	nan := math.NaN()
	out := &report.WithinPeriod{
		GeometricMean: nan, GeometricStandardDeviation: nan, Percentile95: nan, AboveLower: nan, AboveUpper: nan, Text: serialCaution,
	}
	s := v.Spread
	if s == nil {
		out.Text = "Nothing was logged during this period."
		return out, nil
	}
	if sensor.Level > 0 {
		out.AboveLower = float64(s.Above) / float64(v.Observed)
		out.AboveUpper = float64(s.Above+s.Perhaps) / float64(v.Observed)
	}
	if why := unfit(s); why != "" {
		out.Text = "No lognormal: " + why + ". " + serialCaution
		return out, nil
	}
	best, err := likelihood.Maximize(spreadData(s, sensor))
	if err != nil {
		out.Text = "No lognormal: the values do not determine one. " + serialCaution
		return out, nil //nolint:nilerr // What the values do not tell is not told.
	}
	middle := trace.Exactly(math.Exp(best.Mu))
	high := trace.Exactly(math.Exp(best.At(numeric.NormalQuantile(0.95))))
	for _, b := range []*trace.Bounds{&middle, &high} {
		if err := measured.convert(b); err != nil {
			return nil, err
		}
	}
	out.GeometricMean, out.Percentile95, out.GeometricStandardDeviation = middle.Lower, high.Lower, math.Exp(best.Sigma)
	return out, nil
}

// unfit says why no lognormal can be fitted to the values, or nothing.
func unfit(s *trace.Spread) string {
	var why []string
	if s.Without > 0 {
		why = append(why, "some values are 0 or less and have no logarithm, as the channel has no detection limit")
	}
	switch {
	case s.Exact > 0 && s.Minimum == s.Maximum && s.Below+s.Over == 0:
		why = append(why, "the values do not vary")
	case s.Exact+s.Over == 0 && s.Below > 0:
		why = append(why, "every value is under the detection limit")
	case s.Exact+s.Below == 0 && s.Over > 0:
		why = append(why, "every value is over the full scale")
	}
	return strings.Join(why, ", and ")
}

// spreadData is what the likelihood takes: known values, those under the detection limit and those over the range.
func spreadData(s *trace.Spread, sensor *trace.Channel) likelihood.Data {
	d := likelihood.Data{Exact: s.Exact, Mean: s.Mean, Squares: s.Squares, Minimum: s.Minimum, Maximum: s.Maximum}
	if s.Below > 0 {
		d.Below = []likelihood.Bound{{At: math.Log(sensor.DetectionLimit), Weight: s.Below}}
	}
	if s.Over > 0 {
		d.Above = []likelihood.Bound{{At: s.OverFrom, Weight: s.Over}}
	}
	return d
}
