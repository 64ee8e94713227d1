package figure

import (
	"strings"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// spoken tells in sentences what a figure of a group shows.
func spoken(a *report.Assessment) string {
	var out []string
	if f := a.Fit; f != nil {
		out = append(out, "The geometric mean is "+withUnit(figures3(f.GeometricMean.Estimate), a.Unit)+" and the geometric standard deviation "+
			reading.Figures(f.GeometricStandardDeviation.Estimate, 3)+".")
	}
	if p := a.Percentile; p != nil {
		out = append(out, "The "+ordinal(p.Fraction)+" percentile is "+withUnit(figures3(p.Estimate), a.Unit)+", with "+level(p.Confidence)+
			" confidence at least "+figures3(p.Lower)+" and at most "+figures3(p.Upper)+".")
	}
	if e := a.Exceedance; e != nil {
		out = append(out, percent(e.Estimate)+" of the exposures are estimated to be above the limit.")
	}
	if d := a.Decision; d != nil {
		out = append(out, "The outcome is: "+d.Outcome.String()+".")
	}
	return strings.Join(out, " ")
}
