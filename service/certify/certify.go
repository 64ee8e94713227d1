package certify

import (
	"context"
	"math"
	"sync"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

// Method is a way of finding limits. On a group without censoring all methods give the exact limits.
type Method struct {
	Name string
	// Quick methods are simulated for the finer designs as well.
	Quick bool
	// Fit returns what limits are read from, or an error when the method gives none for such readings.
	Fit func(readings []reading.Reading) (fit.Limits, error)
}

// The names of the methods, as the command line writes them.
const (
	// Posterior: quantiles of the posterior under the reference prior, the default.
	Posterior = "POSTERIOR"
	// Calibrated: the calibrated limits.
	Calibrated = "CALIBRATED"
)

// Methods returns those that the service offers. They may be used by several workers.
func Methods() []Method {
	factors := &fit.Factors{}
	return []Method{
		{Posterior, false, func(readings []reading.Reading) (fit.Limits, error) {
			f := fit.New(readings, fit.Options{Factors: factors})
			if f.Status != fit.Fitted {
				return nil, fault.Unsettled("%s", f.Why)
			}
			return f.Limits, nil
		}},
		{Calibrated, true, func(readings []reading.Reading) (fit.Limits, error) { return fit.Calibrated(readings, factors) }},
	}
}

// Plan says what to simulate.
type Plan struct {
	Designs []Design
	Methods []Method
	// Samples is the number of groups drawn for each design.
	Samples int
	// GSDs are the geometric standard deviations for which limits of the arithmetic mean are checked. All other limits follow a
	// change of location and scale of ln reading, so that their coverage is the same for every one of them.
	GSDs []float64
	// Workers is the number of designs simulated at the same time; it changes no number.
	Workers int
	// Progress, if not nil, is called after each design, by one worker at a time.
	Progress func(done, all int)
}

// Row is what came out for one quantity and one method.
type Row struct {
	Design   Design
	Method   string
	Quantity Quantity
	// GSD is 0 where the coverage does not depend on it.
	GSD float64
	// Samples were drawn; for Given of them the method gave the limits, and Covered of those covered.
	Samples, Given int
	Covered        [sides]int
}

// Coverage is the share of the limits given that covered; NaN when none was given.
func (r *Row) Coverage(s Side) float64 { return float64(r.Covered[s]) / float64(r.Given) }

// Error is the standard error of a coverage equal to the nominal one.
func (r *Row) Error(s Side) float64 {
	p := s.Nominal()
	return math.Sqrt(p * (1 - p) / float64(r.Given))
}

// Departure is coverage less confidence.
func (r *Row) Departure(s Side) float64 { return r.Coverage(s) - s.Nominal() }

// Run simulates and returns the rows in the order of the plan. The error is that of the context.
func Run(ctx context.Context, p Plan) ([]Row, error) {
	parts := make([][]Row, len(p.Designs))
	next := make(chan int)
	var workers sync.WaitGroup
	var progress sync.Mutex
	done := 0
	for range max(p.Workers, 1) {
		workers.Go(func() {
			for i := range next {
				parts[i] = p.simulate(ctx, p.Designs[i])
				progress.Lock()
				if done++; p.Progress != nil {
					p.Progress(done, len(p.Designs))
				}
				progress.Unlock()
			}
		})
	}
	for i := range p.Designs {
		next <- i
	}
	close(next)
	workers.Wait()
	var rows []Row
	for _, part := range parts {
		rows = append(rows, part...)
	}
	return rows, ctx.Err()
}

// spreadOfOthers is the geometric standard deviation at which the limits that do not depend on it are simulated; one of those of the
// full plan, so that one fit serves both.
const spreadOfOthers = 2

// simulate returns early, with rows that mean nothing, when the context ends.
func (p *Plan) simulate(ctx context.Context, d Design) []Row {
	rng, s := d.generator(), newSample(d)
	var tallies []*tally
	for i := range p.Methods {
		if m := &p.Methods[i]; m.Quick || !d.Fine {
			tallies = append(tallies, newTally(d, m, p.GSDs, p.Samples))
		}
	}
	for range p.Samples {
		if ctx.Err() != nil {
			break
		}
		s.draw(rng)
		for _, t := range tallies {
			t.add(s)
		}
	}
	var rows []Row
	for _, t := range tallies {
		rows = append(rows, t.rows...)
	}
	return rows
}

// tally counts for one design and one method.
type tally struct {
	method *Method
	rows   []Row
}

func newTally(d Design, m *Method, gsds []float64, samples int) *tally {
	t := &tally{method: m}
	for _, q := range []Quantity{GeometricMean, GeometricStandardDeviation, Percentile95, Exceedance} {
		t.rows = append(t.rows, Row{Design: d, Method: m.Name, Quantity: q, Samples: samples})
	}
	for _, g := range gsds {
		if g == spreadOfOthers {
			t.rows = append(t.rows, Row{Design: d, Method: m.Name, Quantity: ArithmeticMean, GSD: g, Samples: samples})
		}
	}
	for _, g := range gsds {
		if g == spreadOfOthers {
			continue
		}
		t.rows = append(t.rows, Row{Design: d, Method: m.Name, Quantity: ArithmeticMean, GSD: g, Samples: samples})
	}
	return t
}

// add judges all limits of one sample. A sample for which the method gives no limits counts nowhere but in Samples.
func (t *tally) add(s *sample) {
	var p fit.Limits
	var err error
	spread := math.NaN()
	for i := range t.rows {
		r := &t.rows[i]
		gsd := r.GSD
		if gsd == 0 {
			gsd = spreadOfOthers
		}
		sigma := math.Log(gsd)
		if gsd != spread {
			spread = gsd
			p, err = t.method.Fit(s.at(sigma))
		}
		if err != nil {
			continue
		}
		c, bad := judge(r.Quantity, p, s.readings, sigma)
		if bad != nil {
			continue
		}
		r.Given++
		for side, yes := range c {
			if yes {
				r.Covered[side]++
			}
		}
	}
}
