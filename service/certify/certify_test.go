package certify

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/reading"
)

func calibrated() Method { return Methods()[1] }

func run(t *testing.T, p Plan) []Row {
	t.Helper()
	rows, err := Run(t.Context(), p)
	require.NoError(t, err)
	return rows
}

// A short certificate: without censoring the limits are exact, with it the calibrated ones cover to within the tolerance; both but for
// four standard errors of the simulation.
func TestShortCertificate(t *testing.T) {
	t.Parallel()
	plan := Plan{
		Designs: []Design{
			{3, 0, Complete, false},
			{10, 0, Complete, false},
			{6, 0.3, OneLimit, false},
			{10, 0.3, ThreeLimits, false},
			{20, 0.6, OneLimit, false},
			{20, 0.5, ThreeLimits, false},
			{10, 0.3, Quantification, false},
			{20, 0.6, OverRange, false},
		},
		Methods: []Method{calibrated()}, Samples: 3000, GSDs: []float64{2.5}, Workers: 2,
	}
	rows := run(t, plan)
	require.Len(t, rows, 8*5)
	for i := range rows {
		r := &rows[i]
		bound := 4 * r.Error(Upper70)
		if r.Design.Reporting != Complete {
			bound += Tolerance
		}
		for s := range sides {
			require.InDelta(t, s.Nominal(), r.Coverage(s), bound, "%v, %v of %v", r.Design, s, r.Quantity)
		}
	}
}

// The calibrated limits are those that the service takes.
func TestMethodsAreThoseOfTheService(t *testing.T) {
	t.Parallel()
	d := Design{12, 0.4, ThreeLimits, false}
	rng, s := d.generator(), newSample(d)
	for range 5 {
		s.draw(rng)
		for i, m := range Methods() {
			f := fit.New(s.at(1), fit.Options{Calibrated: i == 1})
			l, err := m.Fit(s.at(1))
			require.NoError(t, err)
			want, err := f.Limits.Quantile(1.6449, 0.95)
			require.NoError(t, err)
			got, err := l.Quantile(1.6449, 0.95)
			require.NoError(t, err)
			require.Equal(t, want, got, m.Name)
		}
	}
}

// truthOf is the true value on the scale of ln reading, and limitsOf what the limits are read from.
func truthOf(q Quantity, sigma float64) float64 {
	switch q {
	case GeometricStandardDeviation:
		return sigma
	case ArithmeticMean:
		return 0.5 * sigma * sigma
	case Exceedance:
		// Scores fall as levels rise.
		return -q.place(sigma)
	default:
		return q.place(sigma) * sigma
	}
}

func limitsOf(q Quantity, p fit.Limits, sigma float64) func(level float64) (float64, error) {
	switch q {
	case GeometricStandardDeviation:
		return p.Spread
	case ArithmeticMean:
		return p.LogMean
	case Exceedance:
		return func(level float64) (float64, error) {
			z, err := p.Score(q.place(sigma)*sigma, level)
			return -z, err
		}
	default:
		return func(level float64) (float64, error) { return p.Quantile(q.place(sigma), level) }
	}
}

// Asking for the limits gives the same answers as judging them by the confidence at the truth.
func TestJudgedByConfidenceAsByLimits(t *testing.T) {
	t.Parallel()
	const sigma = 0.8
	for _, d := range []Design{{6, 0.5, OneLimit, false}, {10, 0.6, ThreeLimits, false}, {12, 0.4, Quantification, false}, {12, 0.5, OverRange, false}} {
		rng, s := d.generator(), newSample(d)
		for i := range 80 {
			s.draw(rng)
			readings := s.at(sigma)
			p, err := Methods()[i%2].Fit(readings)
			if err != nil || complete(readings) {
				continue
			}
			for _, q := range quantities {
				want, err := byLimits(truthOf(q, sigma), limitsOf(q, p, sigma))
				require.NoError(t, err)
				got, err := judge(q, p, readings, sigma)
				require.NoError(t, err)
				require.Equal(t, want, got, "%v of %v", q, d)
			}
		}
	}
}

// The coverage of limits other than those of the arithmetic mean does not depend on the spread.
func TestCoverageDoesNotDependOnTheSpread(t *testing.T) {
	t.Parallel()
	d := Design{10, 0.5, ThreeLimits, false}
	rng, s := d.generator(), newSample(d)
	for i := range 60 {
		s.draw(rng)
		var before []covered
		for _, gsd := range []float64{1.3, 2.5, 5} {
			sigma := math.Log(gsd)
			readings := s.at(sigma)
			p, err := Methods()[i%2].Fit(readings)
			require.NoError(t, err)
			var now []covered
			for _, q := range []Quantity{GeometricMean, GeometricStandardDeviation, Percentile95, Exceedance} {
				c, err := judge(q, p, readings, sigma)
				require.NoError(t, err)
				now = append(now, c)
			}
			if before != nil {
				require.Equal(t, before, now)
			}
			before = now
		}
	}
}

// Workers change nothing.
func TestRunIsDeterministic(t *testing.T) {
	t.Parallel()
	plan := Plan{
		Designs: []Design{{6, 0.3, OneLimit, false}, {8, 0.5, ThreeLimits, false}, {5, 0, Complete, false}},
		Methods: Methods(), Samples: 100, GSDs: []float64{2}, Workers: 1,
	}
	one := run(t, plan)
	plan.Workers = 3
	require.Equal(t, one, run(t, plan))
}

func TestRunEndsWithItsContext(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := Run(ctx, Certificate(Samples))
	require.ErrorIs(t, err, context.Canceled)
}

// The share of censored readings is the one asked for.
func TestDesignsCensorTheirShare(t *testing.T) {
	t.Parallel()
	for _, d := range Certificate(1).Designs {
		rng, s := d.generator(), newSample(d)
		censored := 0
		const draws = 1000
		for range draws {
			s.draw(rng)
			for _, r := range s.at(1) {
				if r.Kind != reading.Detected {
					censored++
				}
			}
		}
		all := float64(draws * d.Readings)
		require.InDelta(t, d.Censored, float64(censored)/all, 4*math.Sqrt(0.25/all), "%v", d)
	}
}

func TestPageAndTableOfAShortRun(t *testing.T) {
	t.Parallel()
	rows := run(t, Plan{
		Designs: []Design{{10, 0, Complete, false}, {10, 0.5, OneLimit, false}, {3, 0.94, OneLimit, false}},
		Methods: []Method{calibrated()}, Samples: 50, GSDs: []float64{2}, Workers: 1,
	})
	var table, text bytes.Buffer
	require.NoError(t, WriteCSV(&table, rows))
	require.NoError(t, WritePage(&text, rows, nil))
	r := csv.NewReader(&table)
	r.Comment = '#'
	records, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, records, 1+3*5)
	require.Contains(t, text.String(), Calibrated)
	require.NotContains(t, text.String(), "NaN")
}
