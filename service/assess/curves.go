package assess

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/report"
)

const (
	// curveScore is the normal score of the outermost percentiles, about 0.5 % and 99.5 %.
	curveScore = 2.6
	// curvePercentiles and curveExceedances are the points of the two curves, beside the one of the percentile and of the limit.
	curvePercentiles, curveExceedances = 33, 41
	// mostExceedances are those of a curve that goes on to a limit far away.
	mostExceedances = 81
	// curveReach is how many standard deviations of ln exposure the limit may be away from the median for the exceedances to be
	// followed that far: beyond, a float64 holds no fraction but 0 and 1.
	curveReach = 38
	// densityScore is the normal score of the probabilities between which the density is given, all but 1e-3 of it.
	densityScore = 3.3
	// densityPoints are those of the density.
	densityPoints = 161
)

// curves reads from a fit what figures draw. A limit that could not be found at one point is NaN there; a point that a float64
// cannot hold is left out.
func curves(a *report.Assessment, f *fit.Fit, o Options) *report.Curves {
	return &report.Curves{
		Percentiles: percentileCurve(a, f, o.Confidence),
		Exceedances: exceedanceCurve(a, f, o.Confidence),
		Density:     densityCurve(f, o.Percentile),
	}
}

// percentileCurve is even in normal score, so that it is even on the axis of a log-probability plot. The percentile of the
// assessment is taken from there, as it is the same number.
func percentileCurve(a *report.Assessment, f *fit.Fit, confidence float64) []report.CurvePoint {
	out := make([]report.CurvePoint, 0, curvePercentiles+1)
	for _, z := range evenly(-curveScore, curveScore, curvePercentiles, numeric.NormalQuantile(a.Percentile.Fraction)) {
		fraction, bounds := numeric.NormalCDF(z.at), a.Percentile.Bounds
		if z.given {
			fraction = a.Percentile.Fraction
		} else {
			bounds = bounded(limit.Percentile(f, fraction, confidence))
		}
		if bounds.Estimate > 0 {
			out = append(out, report.CurvePoint{Fraction: fraction, Concentration: bounds.Estimate, Lower: bounds.Lower, Upper: bounds.Upper})
		}
	}
	return out
}

// exceedanceCurve is even in ln concentration over the range of percentileCurve, and up to the limit where that is not too far
// away. The exceedance of the limit is taken from the assessment.
func exceedanceCurve(a *report.Assessment, f *fit.Fit, confidence float64) []report.CurvePoint {
	low, high, given := f.Mu-curveScore*f.Sigma, f.Mu+curveScore*f.Sigma, math.NaN()
	usual := high - low
	if a.Exceedance != nil {
		if q := math.Log(a.Exceedance.Limit); math.Abs(q-f.Mu) <= curveReach*f.Sigma {
			low, high, given = min(low, q), max(high, q), q
		}
	}
	count := curveExceedances
	if high-low > usual {
		count = int(min(curveExceedances*(high-low)/usual, mostExceedances))
	}
	out := make([]report.CurvePoint, 0, count+1)
	for _, q := range evenly(low, high, count, given) {
		concentration := math.Exp(q.at)
		var bounds limit.Bounds
		if q.given {
			concentration, bounds = a.Exceedance.Limit, a.Exceedance.Bounds
		} else {
			bounds = bounded(limit.Exceedance(f, q.at, confidence))
		}
		if concentration > 0 && !math.IsInf(concentration, 0) && !math.IsNaN(bounds.Estimate) {
			out = append(out, report.CurvePoint{Fraction: bounds.Estimate, Concentration: concentration, Lower: bounds.Lower, Upper: bounds.Upper})
		}
	}
	return out
}

// densityCurve is the posterior density of the percentile, even in the normal score of the probability below, so that it is
// densest where it is highest however far its tail goes. It is empty where there is no posterior.
func densityCurve(f *fit.Fit, fraction float64) []report.DensityPoint {
	law, err := f.PercentileLaw(numeric.NormalQuantile(fraction))
	if err != nil {
		return nil
	}
	out := make([]report.DensityPoint, 0, densityPoints)
	for _, score := range evenly(-densityScore, densityScore, densityPoints, math.NaN()) {
		v, err := law.Quantile(numeric.NormalCDF(score.at))
		if err != nil {
			continue
		}
		_, density := law.At(v)
		concentration := math.Exp(v)
		if !(concentration > 0) || math.IsInf(concentration, 0) || math.IsNaN(density) || math.IsInf(density, 0) {
			continue
		}
		if n := len(out); n > 0 && concentration <= out[n-1].Concentration {
			continue
		}
		out = append(out, report.DensityPoint{Concentration: concentration, Density: density})
	}
	return out
}

// bounded puts NaN for limits that were not found.
func bounded(b limit.Bounds, err error) limit.Bounds {
	if err != nil {
		b.Lower, b.Upper = math.NaN(), math.NaN()
	}
	return b
}

// place is a place on an axis; given says that it is the one asked for and none of the grid.
type place struct {
	at    float64
	given bool
}

// evenly are count places from low to high, in ascending order, with the given one among them; that takes the place of one that
// is the same but for rounding. A NaN gives none.
func evenly(low, high float64, count int, given float64) []place {
	out := make([]place, 0, count+1)
	step := (high - low) / float64(count-1)
	pending := !math.IsNaN(given)
	for i := range count {
		x := low + float64(i)*step
		if 2*i == count-1 {
			x = low/2 + high/2 // 0 and nothing near it, where the axis is that of a score.
		}
		same := math.Abs(x-given) < 1e-6*step
		if pending && (same || given < x) {
			out, pending = append(out, place{given, true}), false
		}
		if !same {
			out = append(out, place{x, false})
		}
	}
	if pending {
		out = append(out, place{given, true})
	}
	return out
}
