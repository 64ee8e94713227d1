package comparison

import (
	"math"
	"slices"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
)

// moments fills what means and standard deviations of ln reading give when nothing is censored.
func (p *Pair) moments(a, b *side, o Options) {
	if a.Fit.Status != fit.Fitted || b.Fit.Status != fit.Fitted {
		return
	}
	w := welch{
		difference: b.Fit.Mu - a.Fit.Mu,
		a:          mean{a.Fit.Sigma * a.Fit.Sigma / float64(a.Fit.N), float64(a.Fit.N - 1)},
		b:          mean{b.Fit.Sigma * b.Fit.Sigma / float64(b.Fit.N), float64(b.Fit.N - 1)},
	}
	p.GeometricMean = w.ratio(o.Confidence)
	p.Separate = p.GeometricMean
	p.Means = w.test()
	p.LogSpread, p.Spreads = spreads(a.Fit, b.Fit, o.Confidence)
	p.Equal = brownForsythe(a.Fit.Logs, b.Fit.Logs)
}

// mean is the squared standard error of a mean with its degrees of freedom.
type mean struct{ variance, freedom float64 }

// welch compares two means whose spreads may differ (Welch 1947, Biometrika 34, 28; from memory).
type welch struct {
	difference float64
	a, b       mean
}

func (w welch) error() float64 { return math.Sqrt(w.a.variance + w.b.variance) }

// freedom is that of Welch and Satterthwaite, at least 1.
func (w welch) freedom() float64 {
	v := w.a.variance + w.b.variance
	return max(v*v/(w.a.variance*w.a.variance/w.a.freedom+w.b.variance*w.b.variance/w.b.freedom), 1)
}

// ratio is that of the geometric means.
func (w welch) ratio(confidence float64) limit.Bounds {
	margin := numeric.StudentTQuantile(w.freedom(), confidence) * w.error()
	return exponential(limit.Bounds{Estimate: w.difference, Lower: w.difference - margin, Upper: w.difference + margin})
}

func (w welch) test() Test {
	t, freedom := w.difference/w.error(), w.freedom()
	return Test{
		Name: "Welch's t test on ln reading", Statistic: t, Freedom: []float64{freedom},
		PValue: min(2*numeric.StudentTSurvival(freedom, math.Abs(t)), 1),
	}
}

// spreads is the ratio of the standard deviations with the limits of the F distribution, and its two-sided test.
func spreads(a, b *fit.Fit, confidence float64) (limit.Bounds, Test) {
	da, db := float64(a.N-1), float64(b.N-1)
	ratio := b.Sigma / a.Sigma
	f := ratio * ratio
	p := min(numeric.FSurvival(db, da, f), numeric.FSurvival(da, db, 1/f))
	return limit.Bounds{
		Estimate: ratio,
		Lower:    ratio / math.Sqrt(fQuantile(db, da, 1-confidence)),
		Upper:    ratio * math.Sqrt(fQuantile(da, db, 1-confidence)),
	}, Test{Name: "F test of the spreads of ln reading", Statistic: f, Freedom: []float64{db, da}, PValue: min(2*p, 1)}
}

// fQuantile is the f with P(F > f) = p, found on the scale of its logarithm.
func fQuantile(d1, d2, p float64) float64 {
	x, err := numeric.RootNear(func(x float64) (float64, float64) {
		return math.Log(numeric.FSurvival(d1, d2, math.Exp(x)) / p), 0
	}, 0, 1, math.Inf(-1), math.Inf(1))
	if err != nil {
		return math.NaN()
	}
	return math.Exp(x)
}

// brownForsythe tests equal spreads by the distances from the median (Brown and Forsythe 1974, JASA 69, 364; from memory). It is
// absent when all distances of a campaign are equal in both.
func brownForsythe(a, b []float64) Test {
	da, db := distances(a), distances(b)
	na, nb := float64(len(a)), float64(len(b))
	ma, sa := squares(da)
	mb, sb := squares(db)
	grand := (na*ma + nb*mb) / (na + nb)
	between := na*(ma-grand)*(ma-grand) + nb*(mb-grand)*(mb-grand)
	freedom := na + nb - 2
	f := between / ((sa + sb) / freedom)
	t := absent("Brown-Forsythe on ln reading")
	if !(sa+sb > 0) || math.IsInf(f, 0) {
		return t
	}
	t.Statistic, t.Freedom, t.PValue = f, []float64{1, freedom}, numeric.FSurvival(1, freedom, f)
	return t
}

// distances are those from the median of ascending values.
func distances(sorted []float64) []float64 {
	n := len(sorted)
	median := sorted[n/2]
	if n%2 == 0 {
		median = (sorted[n/2-1] + sorted[n/2]) / 2
	}
	out := make([]float64, n)
	for i, v := range sorted {
		out[i] = math.Abs(v - median)
	}
	slices.Sort(out)
	return out
}

// squares is the mean and the sum of squared deviations from it.
func squares(x []float64) (mean, sum float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		sum += (v - mean) * (v - mean)
	}
	return mean, sum
}
