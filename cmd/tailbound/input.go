package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// standardInput is the argument that stands for the standard input.
const standardInput = "-"

// tables says where readings and limits come from and what makes a group.
type tables struct {
	fileFlags
	files   []string
	groupBy string
	limit   string
	limits  string
	// combine is how long a shift lasts whose consecutive samples are taken together; 0 for no such thing.
	combine time.Duration
	// mixture says whose additive index is judged as well: agents separated by commas, or allAgents; empty for none.
	mixture string
	air
}

// air says what it takes to get from ppm to mg/m3 or back.
type air struct {
	masses                []string
	temperature, pressure float64
}

func (a *air) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringArrayVar(&a.masses, "molar-mass", nil, "the molar mass of an agent in g/mol, as `AGENT=VALUE`, where its limit or some of its readings "+
		"are in ppm and the others in mg/m3")
	f.Float64Var(&a.temperature, "temperature", reading.RoomTemperature, "temperature of the air in `°C`, for --molar-mass")
	f.Float64Var(&a.pressure, "pressure", reading.RoomPressure, "pressure of the air in `kPa`, for --molar-mass")
}

// vapors reads the molar masses; one without an agent holds for all.
func (a *air) vapors() (func(agent string) reading.Vapor, error) {
	const every = ""
	byAgent := map[string]reading.Vapor{}
	for _, text := range a.masses {
		agent, value, named := strings.Cut(text, "=")
		if !named {
			agent, value = every, text
		}
		mass, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if err != nil || !(mass > 0) {
			return nil, usageError{fmt.Errorf("--molar-mass: %q is not AGENT=VALUE with a number of g/mol greater than 0, such as toluene=92.14", text)}
		}
		v := reading.Vapor{MolarMass: mass, Temperature: a.temperature, Pressure: a.pressure}
		if err := v.Check(); err != nil {
			return nil, underFlag("--molar-mass", err)
		}
		byAgent[strings.ToLower(strings.TrimSpace(agent))] = v
	}
	return func(agent string) reading.Vapor {
		if v, found := byAgent[strings.ToLower(agent)]; found {
			return v
		}
		return byAgent[every]
	}, nil
}

// allAgents stands for every agent of a zone.
const allAgents = "all"

// read reads every table and returns the groups with their limits. Notes about the tables are told on the way.
func (t tables) read(s streams) ([]*reading.TabledGroup, error) {
	keys, err := reading.ParseKeys(t.groupBy)
	if err != nil {
		return nil, underFlag("--group-by", err)
	}
	format, err := t.stated()
	if err != nil {
		return nil, err
	}
	grouping := reading.NewGrouping(keys)
	vapors, err := t.vapors()
	if err != nil {
		return nil, err
	}
	grouping.Vapors(vapors)
	grouping.Source = reading.Source{Format: format, Columns: t.columns, Unit: reading.Unit(t.unit), Strict: t.strict}
	if t.combine < 0 || t.combine > reading.LongestCombined {
		return nil, usageError{fmt.Errorf("--combine-within %v: accepted is a length of time from 0 to 24h", t.combine)}
	}
	grouping.CombineWithin = t.combine
	for i, file := range t.files {
		if file == standardInput && slices.Contains(t.files[:i], standardInput) {
			return nil, usageError{errors.New("the standard input can be read only once")}
		}
		if err := withFile(s, file, grouping.ReadCSV); err != nil {
			return nil, err
		}
	}
	tellUnderstood(s, grouping)
	groups, err := grouping.Groups()
	if err != nil {
		return nil, err
	}
	if err := t.state(s, grouping); err != nil {
		return nil, err
	}
	if t.mixture != "" {
		mixtures, err := grouping.Mixtures(t.mixed())
		if err != nil {
			return nil, underFlag("--mixture", err)
		}
		groups = append(groups, mixtures...)
	}
	for _, text := range grouping.Notes() {
		s.notef("note: %s", text)
	}
	return groups, nil
}

// tellUnderstood says how the tables were taken and which of their rows were left out.
func tellUnderstood(s streams, grouping *reading.Grouping) {
	rows := int64(0)
	for _, u := range grouping.Understood() {
		tellGuesses(s, u.File, u.Guesses)
		rows += u.Rows
	}
	// When no row is left, the rejected ones are the error.
	if rejected := grouping.Rejected(); rejected.Rows < rows {
		tellRejected(s, rejected, rows)
		*s.incomplete = *s.incomplete || rejected.Rows > 0
	}
}

// mixed is the agents of the mixture, none for all.
func (t tables) mixed() []string {
	if t.mixture == allAgents {
		return nil
	}
	agents := strings.Split(t.mixture, ",")
	for i := range agents {
		agents[i] = strings.TrimSpace(agents[i])
	}
	return agents
}

// state gives the groups the limits of the command line.
func (t tables) state(s streams, g *reading.Grouping) error {
	if t.limit != "" {
		limit, err := reading.ParseLimit(t.limit)
		if err == nil {
			err = g.Limit(limit)
		}
		return underFlag("--limit", err)
	}
	if t.limits == "" {
		return nil
	}
	return withFile(s, t.limits, func(name string, r io.Reader) error {
		limits, err := reading.ReadLimits(name, r, g.Source.Format)
		if err != nil {
			return err
		}
		for _, text := range limits.Notes() {
			s.notef("note: %s", text)
		}
		return underFlag(name, g.LimitByAgent(limits))
	})
}

// underFlag says of an error which flag or file of the command line it is about.
func underFlag(flag string, err error) error {
	var f *fault.Error
	if err == nil {
		return nil
	}
	if !errors.As(err, &f) {
		return fmt.Errorf("%s: %w", flag, err)
	}
	return fault.Reworded(f, func(v fault.Violation) fault.Violation {
		v.Field = strings.TrimSuffix(flag+", "+v.Field, ", ")
		return v
	})
}

// withFile hands a file, or the standard input, to read.
func withFile(s streams, file string, read func(name string, r io.Reader) error) (err error) {
	if file == standardInput {
		return read("standard input", s.in)
	}
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return read(file, f)
}
