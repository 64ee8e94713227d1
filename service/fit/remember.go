package fit

// remembered is how many quantiles one assessment asks for at the most.
const remembered = 12

// memory is a Posterior that answers a repeated question from memory. One assessment asks for the limits of the 95th
// percentile in its own name and in that of several rules.
type memory struct {
	Posterior
	quantiles []answer
	tails     []answer
}

type answer struct{ z, at, value float64 }

// Remember gives the fit a memory. After that it must not be used concurrently.
func (f *Fit) Remember() {
	if f.Posterior == nil {
		return
	}
	m := &memory{Posterior: f.Posterior, quantiles: make([]answer, 0, remembered), tails: make([]answer, 0, remembered)}
	if f.Limits == Limits(f.Posterior) {
		f.Limits = m
	}
	f.Posterior = m
}

// Quantile is that of the posterior.
func (m *memory) Quantile(z, p float64) (float64, error) {
	if v, ok := recall(m.quantiles, z, p); ok {
		return v, nil
	}
	v, err := m.Posterior.Quantile(z, p)
	if err == nil && len(m.quantiles) < remembered {
		m.quantiles = append(m.quantiles, answer{z, p, v})
	}
	return v, err
}

// Above is that of the posterior.
func (m *memory) Above(z, q float64) float64 {
	if v, ok := recall(m.tails, z, q); ok {
		return v
	}
	v := m.Posterior.Above(z, q)
	if len(m.tails) < remembered {
		m.tails = append(m.tails, answer{z, q, v})
	}
	return v
}

func recall(answers []answer, z, at float64) (float64, bool) {
	for _, a := range answers {
		if a.z == z && a.at == at {
			return a.value, true
		}
	}
	return 0, false
}
