package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fit/posterior"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc/wire"
)

// belief says what is known beside the readings: a prior, an earlier campaign, the error of measurement.
type belief struct {
	prior         string
	earlier       string
	earlierWeight float64
	relativeError float64
}

func (b *belief) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&b.prior, "prior", "reference", "what is believed before the readings, as `PRIOR`: reference, bounded:GM..GM,GSD..GSD within "+
		"bounds, or informed:GMxFACTOR,GSDxFACTOR with medians and their uncertainty factors")
	f.StringVar(&b.earlier, "earlier", "", "let the same groups of an earlier campaign, in the table `FILE`, count as well")
	f.Float64Var(&b.earlierWeight, "earlier-weight", 0.5, "how much an earlier reading counts, as a `FRACTION` of a new one")
	f.Float64Var(&b.relativeError, "relative-error", 0, "standard deviation of the measurement error, as a `FRACTION` of the true value")
}

// add puts the belief into the requests. The earlier readings are read like the tables of the command.
func (b *belief) add(ask question, s streams, like tables) (question, error) {
	prior, err := parsePrior(b.prior)
	if err != nil {
		return nil, usageError{fmt.Errorf("--prior %s: %w", b.prior, err)}
	}
	if b.earlier == "" {
		return b.with(ask, func(*reading.TabledGroup) posterior.Prior { return prior }), nil
	}
	if !prior.IsReference() {
		return nil, usageError{errors.New("--prior and --earlier cannot both be stated")}
	}
	groups, err := tables{fileFlags: like.fileFlags, files: []string{b.earlier}, groupBy: like.groupBy}.read(s)
	if err != nil {
		return nil, err
	}
	before := make(map[[2]string]*reading.TabledGroup, len(groups))
	for _, g := range groups {
		before[[2]string{g.Name, g.Agent}] = g
	}
	return b.with(ask, func(g *reading.TabledGroup) posterior.Prior {
		earlier := before[[2]string{g.Name, g.Agent}]
		if earlier == nil {
			return posterior.Prior{}
		}
		prior, err := b.carry(earlier, g.Unit)
		if err != nil {
			s.notef("note: the earlier readings of %s, %s do not count: %v", g.Name, g.Agent, err)
		}
		return prior
	}), nil
}

// carry is the prior of a group from its earlier readings, brought to its unit; with an error the reference prior.
func (b *belief) carry(earlier *reading.TabledGroup, unit reading.Unit) (posterior.Prior, error) {
	carried := &posterior.CarriedPrior{Weight: b.earlierWeight, Readings: slices.Clone(earlier.Readings)}
	for i := range carried.Readings {
		if err := carried.Readings[i].Convert(earlier.Unit, unit); err != nil {
			return posterior.Prior{}, err
		}
	}
	return posterior.Prior{Carried: carried}, nil
}

func (b *belief) with(ask question, prior func(*reading.TabledGroup) posterior.Prior) question {
	return func(g *reading.TabledGroup) *tailboundv1.AssessGroupRequest {
		r := ask(g)
		r.Prior = wire.FromGroup(reading.Group{}, assess.Options{Prior: prior(g)}).GetPrior()
		r.RelativeError = &b.relativeError
		return r
	}
}

// parsePrior reads the words of --prior. The numbers are checked by the service.
func parsePrior(text string) (posterior.Prior, error) {
	const accepted = "accepted are reference, bounded:0.01..2,1.2..6 and informed:0.1x3,2x1.5"
	kind, numbers, _ := strings.Cut(strings.ToLower(text), ":")
	if kind == "reference" && numbers == "" {
		return posterior.Prior{}, nil
	}
	separator, known := map[string]string{"bounded": "..", "informed": "x"}[kind]
	mean, spread, found := strings.Cut(numbers, ",")
	if !known || !found {
		return posterior.Prior{}, errors.New(accepted)
	}
	var v [4]float64
	for i, part := range [...]string{mean, spread} {
		first, second, found := strings.Cut(part, separator)
		if !found {
			return posterior.Prior{}, errors.New(accepted)
		}
		v[2*i], v[2*i+1] = parsed(first), parsed(second)
	}
	for _, number := range v {
		if math.IsNaN(number) {
			return posterior.Prior{}, errors.New(accepted)
		}
	}
	if kind == "bounded" {
		return posterior.Prior{Bounded: &posterior.BoundedPrior{
			GeometricMeanLower: v[0], GeometricMeanUpper: v[1],
			GeometricStandardDeviationLower: v[2], GeometricStandardDeviationUpper: v[3],
		}}, nil
	}
	return posterior.Prior{Informed: &posterior.InformedPrior{
		GeometricMean: v[0], GeometricMeanFactor: v[1], GeometricStandardDeviation: v[2], GeometricStandardDeviationFactor: v[3],
	}}, nil
}

// parsed is the number in a text, NaN when there is none.
func parsed(text string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}
