package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

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
	// mixture says whose additive index is judged as well: agents separated by commas, or allAgents; empty for none.
	mixture string
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
	grouping.Source = reading.Source{Format: format, Columns: t.columns, Strict: t.strict}
	for i, file := range t.files {
		if file == standardInput && slices.Contains(t.files[:i], standardInput) {
			return nil, usageError{errors.New("the standard input can be read only once")}
		}
		if err := withFile(s, file, grouping.ReadCSV); err != nil {
			return nil, err
		}
	}
	rows := int64(0)
	for _, u := range grouping.Understood() {
		tellGuesses(s, u.File, u.Guesses)
		rows += u.Rows
	}
	// When no row is left, the rejected ones are the error.
	if rejected := grouping.Rejected(); rejected.Rows < rows {
		tellRejected(s, rejected, rows)
	}
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
	moved := *f
	moved.Violations = slices.Clone(f.Violations)
	for i := range moved.Violations {
		moved.Violations[i].Field = strings.TrimSuffix(flag+", "+moved.Violations[i].Field, ", ")
	}
	return &moved
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
