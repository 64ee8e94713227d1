package certify

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"example.com/tailbound/service/comparison"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
)

// RatioSamples is the number of pairs drawn for each design: the standard error of a coverage is at most 0.005 at 0.95.
const RatioSamples = 1_950

// PairDesign is one kind of pair of campaigns, each with one reporting limit or none.
type PairDesign struct {
	// First and Second are the numbers of readings, 2 or more.
	First, Second int
	// Censored is the share of readings expected to have no value, in both.
	Censored float64
	// FirstSpread and SecondSpread are the standard deviations of ln reading.
	FirstSpread, SecondSpread float64
}

// String names the design.
func (d PairDesign) String() string {
	return fmt.Sprintf("n = %d and %d, %.0f %% censored, sigma %g and %g", d.First, d.Second, 100*d.Censored, d.FirstSpread, d.SecondSpread)
}

// The names of the ratios in the table.
const (
	ratioGM, ratioOwn, ratioP95, ratioAM = "GM", "GM, own spreads", "P95", "AM"
)

// RatioRow is what came out for one ratio, the later campaign over the earlier.
type RatioRow struct {
	Design PairDesign
	Ratio  string
	// Samples were drawn; Given of them gave limits, of which Lower and Upper ones, at 0.95, covered.
	Samples, Given, Lower, Upper int
}

// PairDesigns are those of the certificate.
func PairDesigns() []PairDesign {
	var out []PairDesign
	for _, share := range []float64{0, 0.3} {
		for _, n := range [][2]int{{6, 6}, {10, 10}, {20, 20}, {6, 20}, {20, 6}} {
			out = append(out, PairDesign{n[0], n[1], share, 0.8, 0.8}, PairDesign{n[0], n[1], share, 1.2, 0.6})
		}
	}
	return out
}

// RunRatios simulates pairs and returns the rows in the order of the designs. The error is that of the context.
func RunRatios(ctx context.Context, designs []PairDesign, samples, workers int) ([]RatioRow, error) {
	parts := make([][]RatioRow, len(designs))
	next := make(chan int)
	var all sync.WaitGroup
	for range max(workers, 1) {
		all.Go(func() {
			for i := range next {
				parts[i] = designs[i].simulate(ctx, samples)
			}
		})
	}
	for i := range designs {
		next <- i
	}
	close(next)
	all.Wait()
	var rows []RatioRow
	for _, part := range parts {
		rows = append(rows, part...)
	}
	return rows, ctx.Err()
}

// simulate seeds with the parts of the design, so that it gives the same samples in whatever company.
func (d PairDesign) simulate(ctx context.Context, samples int) []RatioRow {
	//nolint:gosec // A simulation must come out again.
	rng := rand.New(rand.NewPCG(uint64(d.First)<<16|uint64(d.Second), uint64(math.Round(1000*d.Censored))<<16|uint64(math.Round(1000*d.FirstSpread))))
	how := Complete
	if d.Censored > 0 {
		how = OneLimit
	}
	a, b := newSample(Design{d.First, d.Censored, how, false}), newSample(Design{d.Second, d.Censored, how, false})
	rows := make([]RatioRow, 0, 4)
	for _, name := range []string{ratioGM, ratioOwn, ratioP95, ratioAM} {
		rows = append(rows, RatioRow{Design: d, Ratio: name, Samples: samples})
	}
	for range samples {
		if ctx.Err() != nil {
			return rows
		}
		a.draw(rng)
		b.draw(rng)
		d.judge(rows, a, b)
	}
	return rows
}

// judge counts the limits of one pair.
func (d PairDesign) judge(rows []RatioRow, a, b *sample) {
	before, after := a.at(d.FirstSpread), b.at(d.SecondSpread)
	f, g := fit.New(before, fit.Options{}), fit.New(after, fit.Options{})
	r, err := comparison.Compare([]comparison.Campaign{{Name: "a", Readings: before, Fit: &f}, {Name: "b", Readings: after, Fit: &g}}, comparison.Options{})
	if err != nil {
		return
	}
	p := &r.Pairs[0]
	for i, bounds := range []limit.Bounds{p.GeometricMean, p.Separate, p.Percentile, p.ArithmeticMean} {
		if math.IsNaN(bounds.Lower) {
			continue
		}
		row := &rows[i]
		truth := row.truth()
		row.Given++
		if bounds.Lower <= truth {
			row.Lower++
		}
		// A limit beyond the largest float64 is NaN and covers.
		if !(bounds.Upper < truth) {
			row.Upper++
		}
	}
}

// truth is the true ratio.
func (r *RatioRow) truth() float64 {
	a, b := r.Design.FirstSpread, r.Design.SecondSpread
	switch r.Ratio {
	case ratioP95:
		return math.Exp(numeric.NormalQuantile(0.95) * (b - a))
	case ratioAM:
		return math.Exp(0.5 * (b*b - a*a))
	}
	return 1
}

func (r *RatioRow) shares() [2]float64 {
	return [2]float64{float64(r.Lower) / float64(r.Given), float64(r.Upper) / float64(r.Given)}
}

// Departs says whether a coverage departs by more than Tolerance.
func (r *RatioRow) Departs() bool { return r.farthest() > Tolerance }

func (r *RatioRow) farthest() float64 {
	s := r.shares()
	return max(math.Abs(s[0]-0.95), math.Abs(s[1]-0.95))
}

// Reasons explains a departure; empty where there is none.
func (r *RatioRow) Reasons() string {
	if !r.Departs() {
		return ""
	}
	d, why := r.Design, "two posteriors"
	switch {
	case r.Ratio == ratioGM && d.Censored > 0 && d.FirstSpread != d.SecondSpread:
		why = "one spread, normal margin"
	case r.Ratio == ratioGM && d.Censored > 0:
		why = "normal margin"
	case d.Censored > 0:
		why = "prior, two posteriors"
	case r.Ratio == ratioGM || r.Ratio == ratioOwn:
		why = "Welch"
	}
	if float64(r.Given) < selective*float64(r.Samples) {
		why += ", selection"
	}
	if r.farthest() < Tolerance+2*chanceError(r.Given, 0.95) {
		why += ", chance"
	}
	return why
}
