package rpc

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/report"
)

// curvesToProto leaves out a point whose place is not finite, and a limit that is not.
func curvesToProto(c *report.Curves) *tailboundv1.Curves {
	if c == nil {
		return nil
	}
	p := &tailboundv1.Curves{Percentiles: curvePointsToProto(c.Percentiles), Exceedances: curvePointsToProto(c.Exceedances)}
	for _, d := range c.Density {
		if finite(d.Concentration, d.Density) {
			p.Density = append(p.Density, &tailboundv1.DensityPoint{Concentration: d.Concentration, Density: d.Density})
		}
	}
	return p
}

func curvePointsToProto(points []report.CurvePoint) []*tailboundv1.CurvePoint {
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

func curvesFromProto(p *tailboundv1.Curves) *report.Curves {
	if p == nil {
		return nil
	}
	return &report.Curves{
		Percentiles: list(p.GetPercentiles(), curvePointFromProto),
		Exceedances: list(p.GetExceedances(), curvePointFromProto),
		Density:     list(p.GetDensity(), densityPointFromProto),
	}
}

func curvePointFromProto(p *tailboundv1.CurvePoint) report.CurvePoint {
	return report.CurvePoint{Fraction: p.GetFraction(), Concentration: p.GetConcentration(), Lower: orNaN(p.Lower), Upper: orNaN(p.Upper)}
}

func densityPointFromProto(p *tailboundv1.DensityPoint) report.DensityPoint {
	return report.DensityPoint{Concentration: p.GetConcentration(), Density: p.GetDensity()}
}
