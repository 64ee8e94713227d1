package likelihood

// With adds other readings, such as those that a prior carries over.
func (d Data) With(e *Data) Data {
	sum := pooled(&d, e)
	sum.Below = mergeBounds(append(append(make([]Bound, 0, len(d.Below)+len(e.Below)), d.Below...), e.Below...))
	sum.Above = mergeBounds(append(append(make([]Bound, 0, len(d.Above)+len(e.Above)), d.Above...), e.Above...))
	sum.Between = mergeBands(append(append(make([]Band, 0, len(d.Between)+len(e.Between)), d.Between...), e.Between...))
	return sum
}

// pooled combines the moments of the detected readings of two groups.
func pooled(a, b *Data) Data {
	switch {
	case b.Exact == 0:
		return Data{Exact: a.Exact, Mean: a.Mean, Squares: a.Squares, Minimum: a.Minimum, Maximum: a.Maximum}
	case a.Exact == 0:
		return pooled(b, a)
	}
	n := a.Exact + b.Exact
	apart := b.Mean - a.Mean
	return Data{
		Exact: n, Mean: a.Mean + apart*b.Exact/n, Squares: a.Squares + b.Squares + apart*apart*a.Exact*b.Exact/n,
		Minimum: min(a.Minimum, b.Minimum), Maximum: max(a.Maximum, b.Maximum),
	}
}

// From measures the logs from an origin.
func (d Data) From(origin float64) Data {
	d.Mean -= origin
	d.Minimum -= origin
	d.Maximum -= origin
	d.Below, d.Above = shifted(d.Below, origin), shifted(d.Above, origin)
	between := make([]Band, len(d.Between))
	for i, b := range d.Between {
		between[i] = Band{b.Lower - origin, b.Upper - origin, b.Weight}
	}
	d.Between = between
	return d
}

func shifted(b []Bound, origin float64) []Bound {
	out := make([]Bound, len(b))
	for i, x := range b {
		out[i] = Bound{x.At - origin, x.Weight}
	}
	return out
}

// Standardized moves the data to (y - mu)/sigma.
func (d *Data) Standardized(mu, sigma float64) Data {
	s := *d
	s.Mean, s.Squares = (d.Mean-mu)/sigma, d.Squares/(sigma*sigma)
	s.Minimum, s.Maximum = (d.Minimum-mu)/sigma, (d.Maximum-mu)/sigma
	s.Below, s.Above = make([]Bound, len(d.Below)), make([]Bound, len(d.Above))
	for i, b := range d.Below {
		s.Below[i] = Bound{(b.At - mu) / sigma, b.Weight}
	}
	for i, b := range d.Above {
		s.Above[i] = Bound{(b.At - mu) / sigma, b.Weight}
	}
	s.Between = make([]Band, len(d.Between))
	for i, b := range d.Between {
		s.Between[i] = Band{(b.Lower - mu) / sigma, (b.Upper - mu) / sigma, b.Weight}
	}
	return s
}
