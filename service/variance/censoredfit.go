package variance

import (
	"math"
)

// restricted is the censored likelihood with mu integrated out under a flat prior. When nothing is censored that is the
// restricted likelihood of the contrasts (Harville 1974, from memory), so that no estimate jumps when one reading falls below
// its reporting limit.
type restricted struct {
	*marginal
	// mu and spread are the mean and standard deviation of mu at the last place.
	mu, spread float64
}

// hermite is the 7-point Gauss–Hermite rule for the weight exp(-x²), Abramowitz and Stegun table 25.10. What multiplies the
// weight is constant when nothing is censored and nearly so otherwise, mu being told by all readings together.
func hermite() (nodes, weights [7]float64) {
	nodes = [7]float64{
		-2.651961356835233492, -1.673551628767471445, -0.8162878828589646630, 0,
		0.8162878828589646630, 1.673551628767471445, 2.651961356835233492,
	}
	weights = [7]float64{
		0.0009717812450995191541, 0.05451558281912703059, 0.4256072526101278005, 0.8102646175568073267,
		0.4256072526101278005, 0.05451558281912703059, 0.0009717812450995191541,
	}
	return nodes, weights
}

// at integrates over mu around its mode, a Newton step from where it was last.
func (r *restricted) at(p place) jet {
	center, width, top := r.approach(p)
	nodes, weights := hermite()
	var sum mixture
	var m1, m2 float64
	for i, x := range nodes {
		d := math.Sqrt2 * x * width
		p.mu = center + d
		j := r.marginal.at(p)
		w := weights[i] * math.Exp(x*x+j.value-top)
		sum.add(w, &j)
		m1 += w * d
		m2 += w * d * d
	}
	m1 /= sum.mass
	r.mu, r.spread = center+m1, math.Sqrt(m2/sum.mass-m1*m1)
	j := sum.jet()
	j.value += top + math.Log(math.Sqrt2*width)
	return j
}

// approach returns the mode of mu, its standard deviation and the likelihood there, as a normal shape would have them. From where
// mu was last one Newton step serves; more are taken when the sigmas have changed so much that it was more than near off.
func (r *restricted) approach(p place) (center, width, top float64) {
	const steps, near = 20, 1
	center = r.mu
	for range steps {
		p.mu = center
		here := r.marginal.at(p)
		width = 1 / math.Sqrt(-here.second[byMu][byMu])
		pull := here.first[byMu] * width
		center += pull * width
		top = here.value + 0.5*pull*pull
		if math.Abs(pull) < near {
			break
		}
	}
	return center, width, top
}

// censoredFit is what the likelihoods of censored readings say.
type censoredFit struct {
	// restricted is that of the likelihood when contrasts is false.
	likelihood, restricted Estimates
	// contrasts says that the restricted likelihood has a maximum.
	contrasts bool
	// information is that about ln sigma_w at fixed sigma_b.
	information float64
}

// fit maximizes the likelihood and the restricted one from a start. The effects of m are those at the restricted maximum.
//
// The restricted likelihood falls off for large sigma_b only when at least two zones have readings that keep their mean from
// both sides: with one, mu and sigma_b may grow together at no cost. Then the likelihood alone speaks.
func (m *marginal) fit(start place) (censoredFit, error) {
	free := []int{byMu, byLogBetween, byLogWithin}
	p, j, err := best(m.at, free, start)
	if err != nil {
		return censoredFit{}, err
	}
	f := censoredFit{likelihood: p.estimates(&j, free), contrasts: m.held() > 1}
	f.likelihood.MuSE = 1 / math.Sqrt(-j.second[byMu][byMu])
	f.restricted = f.likelihood
	if f.contrasts {
		r := &restricted{marginal: m, mu: p.mu}
		if p.between == 0 {
			p.between = startRatio * p.within
		}
		p, j, err = best(r.at, free[byLogBetween:], p)
		if err != nil {
			return censoredFit{}, err
		}
		p.mu = r.mu
		f.restricted = p.estimates(&j, free[byLogBetween:])
		f.restricted.MuSE = r.spread
	}
	f.information = -j.second[byLogWithin][byLogWithin]
	m.at(p)
	return f, nil
}

// held counts the zones whose readings keep their mean from both sides.
func (m *marginal) held() int {
	count := 0
	for i := range m.zones {
		if floor, ceiling := m.zones[i].sides(); floor && ceiling {
			count++
		}
	}
	return count
}

const (
	// startRatio is the sigma_b/sigma_w from which a rising likelihood is climbed.
	startRatio = 0.3
	// edgeRatio is the sigma_b/sigma_w at which it is seen whether the likelihood rises from sigma_b = 0.
	edgeRatio = 1e-3
	// leastRise is the rise of the log-likelihood over that at the edge under which sigma_b is 0: less is noise of the quadrature.
	leastRise = 1e-9
)

// best is the higher one of the maximum with sigma_b = 0 and that inside. Inside is climbed from the start, and once more from
// near the edge when that led to the edge although the likelihood rises from there.
func best(at func(place) jet, free []int, start place) (place, jet, error) {
	edge := place{mu: start.mu, within: math.Hypot(start.between, start.within)}
	fewer := make([]int, 0, parameters)
	for _, a := range free {
		if a != byLogBetween {
			fewer = append(fewer, a)
		}
	}
	edge, flat, err := surface{at, fewer}.climb(edge)
	if err != nil {
		return edge, flat, err
	}
	top, peak, err := surface{at, free}.climb(start)
	if ran := top.between < boundaryRatio*top.within; err == nil && ran {
		near := edge
		near.between = edgeRatio * edge.within
		if rise := at(near); rise.first[byLogBetween] > 0 {
			near.between = startRatio * edge.within
			top, peak, err = surface{at, free}.climb(near)
		}
	}
	if err != nil {
		return top, peak, err
	}
	if top.between < boundaryRatio*top.within || peak.value <= flat.value+leastRise {
		return edge, at(edge), nil
	}
	return top, peak, nil
}

// estimates turns a maximum into estimates; the standard errors come from the inverse of the information about the free
// parameters.
func (p place) estimates(j *jet, free []int) Estimates {
	e := Estimates{
		Mu: p.mu, Between: p.between, Within: p.within, LogLikelihood: j.value,
		LogBetweenSE: math.NaN(), LogWithinSE: math.NaN(),
	}
	if p.between == 0 {
		return e
	}
	variance := func(a int) float64 {
		// A unit pull along a moves the solution by the column of the inverse.
		unit := *j
		unit.first = [parameters]float64{}
		unit.first[a] = 1
		step, _, ok := surface{free: free}.newton(&unit, 0)
		if !ok {
			return math.NaN()
		}
		return step[a]
	}
	e.LogBetweenSE, e.LogWithinSE = math.Sqrt(variance(byLogBetween)), math.Sqrt(variance(byLogWithin))
	return e
}
