package wire

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/report"
)

// fromCurves leaves out a point whose place is not finite, and a limit that is not.
func fromCurves(c *report.Curves) *tailboundv1.Curves {
	if c == nil {
		return nil
	}
	p := &tailboundv1.Curves{Percentiles: fromCurvePoints(c.Percentiles), Exceedances: fromCurvePoints(c.Exceedances)}
	for _, d := range c.Density {
		if finite(d.Concentration, d.Density) {
			p.Density = append(p.Density, &tailboundv1.DensityPoint{Concentration: d.Concentration, Density: d.Density})
		}
	}
	return p
}

func fromCurvePoints(points []report.CurvePoint) []*tailboundv1.CurvePoint {
	out := make([]*tailboundv1.CurvePoint, 0, len(points))
	for _, c := range points {
		if finite(c.Fraction, c.Concentration) {
			out = append(out, &tailboundv1.CurvePoint{
				Fraction: c.Fraction, Concentration: c.Concentration, Lower: optional(c.Lower), Upper: optional(c.Upper),
			})
		}
	}
	return out
}

func toCurves(p *tailboundv1.Curves) *report.Curves {
	if p == nil {
		return nil
	}
	return &report.Curves{
		Percentiles: list(p.GetPercentiles(), toCurvePoint),
		Exceedances: list(p.GetExceedances(), toCurvePoint),
		Density:     list(p.GetDensity(), toDensityPoint),
	}
}

func toCurvePoint(p *tailboundv1.CurvePoint) report.CurvePoint {
	return report.CurvePoint{Fraction: p.GetFraction(), Concentration: p.GetConcentration(), Lower: orNaN(p.Lower), Upper: orNaN(p.Upper)}
}

func toDensityPoint(p *tailboundv1.DensityPoint) report.DensityPoint {
	return report.DensityPoint{Concentration: p.GetConcentration(), Density: p.GetDensity()}
}
