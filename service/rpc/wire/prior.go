package wire

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
)

// ToPrior turns a prior into that of the fit; none and the reference prior are its zero value.
func ToPrior(p *tailboundv1.Prior) posterior.Prior {
	switch kind := p.GetKind().(type) {
	case *tailboundv1.Prior_Bounded:
		b := kind.Bounded
		return posterior.Prior{Bounded: &posterior.BoundedPrior{
			GeometricMeanLower: b.GetGeometricMeanLower(), GeometricMeanUpper: b.GetGeometricMeanUpper(),
			GeometricStandardDeviationLower: b.GetGeometricStandardDeviationLower(),
			GeometricStandardDeviationUpper: b.GetGeometricStandardDeviationUpper(),
		}}
	case *tailboundv1.Prior_Informed:
		i := kind.Informed
		return posterior.Prior{Informed: &posterior.InformedPrior{
			GeometricMean: i.GetGeometricMean(), GeometricMeanFactor: i.GetGeometricMeanFactor(),
			GeometricStandardDeviation:       i.GetGeometricStandardDeviation(),
			GeometricStandardDeviationFactor: i.GetGeometricStandardDeviationFactor(),
		}}
	case *tailboundv1.Prior_Carried:
		return posterior.Prior{Carried: &posterior.CarriedPrior{
			Readings: toReadings(kind.Carried.GetReadings()), Weight: kind.Carried.GetWeight(),
		}}
	default:
		return posterior.Prior{}
	}
}

func fromPrior(p posterior.Prior) *tailboundv1.Prior {
	switch {
	case p.Bounded != nil:
		return &tailboundv1.Prior{Kind: &tailboundv1.Prior_Bounded{Bounded: &tailboundv1.BoundedPrior{
			GeometricMeanLower: p.Bounded.GeometricMeanLower, GeometricMeanUpper: p.Bounded.GeometricMeanUpper,
			GeometricStandardDeviationLower: p.Bounded.GeometricStandardDeviationLower,
			GeometricStandardDeviationUpper: p.Bounded.GeometricStandardDeviationUpper,
		}}}
	case p.Informed != nil:
		return &tailboundv1.Prior{Kind: &tailboundv1.Prior_Informed{Informed: &tailboundv1.InformedPrior{
			GeometricMean: p.Informed.GeometricMean, GeometricMeanFactor: p.Informed.GeometricMeanFactor,
			GeometricStandardDeviation:       p.Informed.GeometricStandardDeviation,
			GeometricStandardDeviationFactor: p.Informed.GeometricStandardDeviationFactor,
		}}}
	case p.Carried != nil:
		return &tailboundv1.Prior{Kind: &tailboundv1.Prior_Carried{Carried: &tailboundv1.CarriedPrior{
			Readings: fromReadings(p.Carried.Readings), Weight: p.Carried.Weight,
		}}}
	default:
		return nil
	}
}

func toReadings(list []*tailboundv1.Reading) []reading.Reading {
	out := make([]reading.Reading, len(list))
	for i, p := range list {
		out[i] = ToReading(p)
	}
	return out
}

func fromReadings(list []reading.Reading) []*tailboundv1.Reading {
	out := make([]*tailboundv1.Reading, len(list))
	for i := range list {
		out[i] = fromReading(&list[i])
	}
	return out
}
